"""Every window shows the same words of a page in the same order, or none shows it."""

import asyncio
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

import pytest

from bot.cards.lesser import read_procedure
from bot.cards.prose import blocks_of, parts_of
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cli.lines import block_lines, lines
from bot.cli.main import Exit, main
from bot.model.card import Card
from bot.model.marked import items, plain, runs
from bot.model.pages import Procedure
from bot.model.place import Fault
from bot.model.rule import StopRule
from bot.paper import sheet
from bot.paper.html import set_html
from bot.paper.text import set_text
from bot.store.pages import page, text_of
from bot.store.scan import PROCEDURES, RULES
from bot.talk.messages import Aside, Ask, Choice, Message, ShowStep, Stop
from bot.tui.cab import Cab
from bot.tui.pages import Matter, parts, question
from bot.tui.prose import set_out
from tests.test_tui import CARD, RULE, RULE_PATH, desk, grid


class Said(NamedTuple):
    """A piece of Markdown: the words of it in running text and in plain words.

    None where the page is refused.
    """

    piece: str
    running: str | None = None
    bare: str | None = None


def same(piece: str) -> Said:
    return Said(piece, piece, piece)


PIECES = (
    same("do not"),
    same("a < b and c > d"),
    same("R & D, 5 & 6"),
    same("[x] and [/x]"),
    same("[bold]"),
    same("[@click=app.quit]x[/]"),
    same("[Danger]"),
    same("a_b and snake_case_name"),
    same("https://example.org/?a=b"),
    same("$error {0} %s {{x}}"),
    same("1. not 2."),
    same("# no heading"),
    same("> no quote"),
    same("- no item"),
    same("50 % ~ 60 %"),
    same("\"quoted\" and 'so'"),
    same("[^1] no footnote"),
    same("Räder ½ 車"),
    same(":warning; and @name"),
    Said("**do not** go", "do not go"),
    Said("*do not* go", "do not go"),
    Said("[do not](#1-blow-the-horn-dry) go", "do not go"),
    Said("a **b** *c* [d](#e) f", "a b c d f"),
    Said("2 * 3 * 4", "2 * 3 * 4"),
    Said("do  \nnot", "do not", ""),
    Said("do\nnot", "do not", ""),
    Said("`do not`"),
    Said("``do ` not``"),
    Said("&lt;do not&gt;"),
    Said("&#100;o not"),
    Said("\\*do not\\*"),
    Said("do\\\nnot"),
    Said("<b>do not</b>"),
    Said("<!-- do not -->"),
    Said("<script>do not</script>"),
    Said("<do@not.example>"),
    Said("<https://do.not>"),
    Said("_do not_"),
    Said("__do not__"),
    Said("~~do not~~"),
    Said("***do not***"),
    Said("**do *not* go**"),
    Said("[**do** not](#a)"),
    Said('[do not](#a "title")'),
    Said("[do [x] not](#a)"),
    Said("![do not](a.jpg)"),
    Said("do\n\n[not]: /x\n\ngo"),
    Said("do\n\n    not go"),
    Said("do\n\n| not |\n| --- |\n| go |"),
    Said("do\n\n---\n\nnot"),
    Said("do\n\n~~~\nnot\n~~~\n\ngo"),
    Said("do\n\n```\nnot"),
    Said("do\n> not"),
    Said("do\n===\nnot"),
    Said("do\n\n" + "".join(f"{'  ' * n}- not\n" for n in range(19)) + "\ngo"),
    Said("do\n\n" + "> " * 20 + "not"),
    Said("do\n\n<div>\nnot\n</div>\n\ngo"),
)

FROM, TO = "zebrafrom", "zebrato"
WHERE = {
    "caution": ("Wear glasses.", "> ", "Wear {}."),
    "step": ("2. Have someone press", "   ", "2. Have {} someone press"),
    "finding": ("- Yes, water runs out:", "  ", "- Yes, water {} runs out:"),
    "cause": ("repair 2](#2-free-the-pipe)\n", "  ", None),
    "title": ("# The air horn is weak", "", "# The air horn {} is weak"),
}
RUNNING = ("caution", "step")


def placed(piece: str, *places: str) -> tuple[str, int]:
    """The page with a piece in its places, and the line on which the first begins."""
    text = CARD
    for where in places:
        old, lead, form = WHERE[where]
        form = form or old.rstrip("\n") + ". So {} it is.\n"
        said = f"{FROM} {piece} {TO}".replace("\n", f"\n{lead}")
        assert text.count(old) == 1
        text = text.replace(old, form.replace("{}", said))
    return text, text[: text.index(FROM)].count("\n") + 1


def between(shown: str) -> list[str]:
    """The words between the two marks, wherever they are shown."""
    flat = " ".join(re.sub(r"[\u2500-\u259f]", " ", shown).split())
    found = re.findall(rf"(?i){FROM} (.*?) ?{TO}", flat)
    return [each.lower() for each in found]


class Words(HTMLParser):
    """What a reader of HTML sees."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.text = ""
        self.feed(html.partition("<body>")[2])

    def handle_data(self, data: str) -> None:
        self.text += data


def steps_of(held: Card | Procedure) -> Iterator[ShowStep]:
    for part in parts_of(held):
        yield ShowStep("Check", part.title, part.needs, part.body)


def told(card: Card) -> tuple[Message, ...]:
    """The places of a page as the conversation shows them."""
    labels = [card.title, *(c.note for c in card.causes)]
    labels += [f.answer for f in card.checks[1].findings]
    choices = tuple(
        Choice(str(n), label, Aside.KEYS) for n, label in enumerate(labels) if label
    )
    return (next(steps_of(card)), Ask("Which?", choices))


def on_screen(turns: list[tuple[Message, ...]], home: Path) -> list[str]:
    """What the screen shows of some turns, one after the other."""
    seen: list[str] = []

    async def run() -> None:
        cab = Cab(desk(home))
        async with cab.run_test(size=(100, 50)) as pilot:
            for turn in turns:
                await cab._show(None, question(turn), Matter(parts=tuple(parts(turn))))
                await pilot.pause()
                seen.append(grid(cab))

    asyncio.run(run())
    return seen


def fits(said: Said) -> list[str]:
    """The places of a page where a piece may stand; the label of a link is a title."""
    places = [*RUNNING] if said.running else []
    places += ["finding", "cause"] if said.bare else []
    return places + (["title"] if said.bare and "[" not in said.piece else [])


@pytest.mark.parametrize("where", WHERE)
def test_a_piece_that_windows_show_otherwise_is_refused_at_its_line(where: str) -> None:
    refused = 0
    for said in PIECES:
        if where in fits(said) or "\n" in said.piece:
            continue
        text, line = placed(said.piece, where)
        found = read_card(text, "horn-weak.md")
        assert isinstance(found, tuple), said.piece
        assert any(f.place.line == line for f in found), (said, found)
        refused += 1
    assert refused > 10


@pytest.mark.parametrize("where", RUNNING)
def test_a_piece_of_many_lines_is_refused_at_one_of_them(where: str) -> None:
    for said in PIECES:
        if "\n" in said.piece and where not in fits(said):
            text, line = placed(said.piece, where)
            found = read_card(text, "horn-weak.md")
            assert isinstance(found, tuple), said.piece
            lines_ = range(line, line + said.piece.count("\n") + 2)
            assert any(f.place.line in lines_ for f in found), (said, found)


def test_each_piece_is_shown_alike_in_every_window(tmp_path: Path) -> None:
    held: list[tuple[Said, Card]] = []
    for said in PIECES:
        if fits(said):
            found = read_card(placed(said.piece, *fits(said))[0], "horn-weak.md")
            assert isinstance(found, Card), (said.piece, found)
            held.append((said, found))
    shown = on_screen([told(card) for _, card in held], tmp_path)
    for (said, card), screen in zip(held, shown, strict=True):
        windows = {
            "talk": "\n".join(lines(told(card), 72)),
            "screen": screen,
            "text": set_text(sheet.page(card)),
            "html": Words(set_html(sheet.page(card), "x")).text,
        }
        for name, text in windows.items():
            wanted = " ".join((said.running or "").lower().split())
            assert between(text) == [wanted] * len(fits(said)), (name, wanted)


@pytest.mark.parametrize("said", PIECES, ids=lambda said: repr(said.piece)[:30])
def test_what_to_do_now_takes_plain_words_alone(said: Said) -> None:
    old = "Stop clear of traffic"
    text = RULE.replace(old, f"{old} {FROM} {said.piece} {TO}")
    rule = read_rule(text, RULE_PATH)
    if not said.bare:
        assert isinstance(rule, tuple)
        return
    assert isinstance(rule, StopRule), rule
    turn = (Stop(rule),)
    screen = "\n".join(set_out(part.paragraphs, 80).plain for part in parts(turn))
    html = Words(set_html(sheet.rule(rule), "x")).text
    for shown in ("\n".join(lines(turn, 72)), screen, html):
        assert between(shown) == [said.bare.lower()]


def test_the_commands_show_what_the_page_says_and_leave_the_others_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "kb" / "cards" / "air-supply"
    folder.mkdir(parents=True)
    bare = [said for said in PIECES if not set("\n[") & set(said.piece)]
    for nth, said in enumerate(bare):
        (folder / f"horn-{nth}.md").write_text(placed(said.piece, "title")[0])
    where = ("--kb", str(tmp_path / "kb"), "--home", str(tmp_path))

    def shown(*words: str) -> str:
        main([*where, *words])
        return capsys.readouterr().out

    wanted = {said.bare.lower() for said in bare if said.bare}
    assert set(between(shown("print", "air-supply"))) == wanted
    assert set(between(Words(shown("print", "air-supply", "--html")).text)) == wanted
    assert between(shown("card", "horn-0")) == [bare[0].piece]
    asked = json.loads(shown("ask", "--json", "--top", "99", "the horn only croaks"))
    titles = {title for c in asked["cards"] for title in between(c["title"])}
    assert titles
    assert titles <= wanted
    assert main([*where, "ask", "the horn only croaks"]) == Exit.NOT_WHOLE


# --- the real pages -------------------------------------------------------------------


def real(kb: Path) -> list[Card | Procedure | StopRule]:
    found: list[Card | Procedure | StopRule] = []
    for path in sorted(kb.rglob("*.md")):
        readers = {PROCEDURES: read_procedure, RULES: read_rule}
        reader = readers.get(path.parent.name, read_card)
        text = text_of(page(path))
        if path.parent == kb or not isinstance(text, str):
            continue
        held = reader(text, str(path))
        assert not isinstance(held, tuple), held
        found.append(held)
    return found


def flat(text: str) -> str:
    """The words of a text, without what a window sets round them."""
    return " ".join(re.sub(r"!+ |\[ \]|[\u2500-\u259f]", " ", text).lower().split())


def test_every_word_of_the_real_pages_is_in_every_window(kb: Path) -> None:
    held = real(kb)
    assert len(held) > 100
    for each in held:
        turn: tuple[Message, ...]
        if isinstance(each, StopRule):
            turn, pieces = (Stop(each, whole=True),), tuple(sheet.rule(each))
            blocks = [*each.cautions, *each.call_for_help, *each.who_decides]
        else:
            turn = tuple(steps_of(each))
            pieces = tuple(
                sheet.page(each) if isinstance(each, Card) else sheet.procedure(each)
            )
            own = {id(block) for part in parts_of(each) for block in part.body}
            blocks = [block for block in blocks_of(each) if id(block) in own]
        windows = {
            "talk": "\n".join(lines(turn, 72)),
            "screen": "\n".join(
                set_out(part.paragraphs, 78).plain for part in parts(turn)
            ),
            "text": set_text(pieces),
            "html": Words(set_html(pieces, "x")).text,
        }
        for name, shown in windows.items():
            seen = flat(shown)
            for block in blocks:
                for said in (line for line in block_lines(block, 10_000)):
                    bare = flat(said.partition(": ")[2] if said[:1] == "!" else said)
                    bare = re.sub(r"^([0-9]+\.|-) ", "", bare)
                    assert bare in seen, (each.id, name, bare)


# --- the grammar ----------------------------------------------------------------------


def test_marks_that_are_not_closed_stay_letters() -> None:
    for text in ("a * b", "** a", "*a", "[a](", "[a] (b)", "a ** b ** c", "*", "[]()"):
        assert plain(text) == text
        assert "".join(run.text for run in runs(text)) == text


def test_items_keep_their_numbers_and_all_their_lines() -> None:
    text = "Do this:\nnow\n\n3. one\n   more\n4. two\n\n- a\n- b"
    assert [tuple(item) for item in items(text)] == [
        ("", "Do this: now"),
        ("3.", "one more"),
        ("4.", "two"),
        ("-", "a"),
        ("-", "b"),
    ]


@pytest.mark.parametrize("text", ["*" * 60_000, "[" * 60_000, "[a](" * 15_000])
def test_hostile_marks_cost_no_more_than_their_length(text: str) -> None:
    assert plain(text) == text


@pytest.mark.parametrize(
    "piece", ["do\n12. not", "do\n\n3. a\n5. b", "do\n\n1) a\n2) b"]
)
def test_steps_that_would_be_numbered_anew_are_refused(piece: str) -> None:
    assert isinstance(read_card(placed(piece, "step")[0], "horn-weak.md"), tuple)


def test_a_fault_tells_what_to_write() -> None:
    found = read_card(placed("`x`", "caution")[0], "horn-weak.md")
    assert isinstance(found, tuple)
    assert [type(each) for each in found] == [Fault]
    assert "write" in found[0].says or "mark words with" in found[0].says
