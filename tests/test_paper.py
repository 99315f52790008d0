"""Pages on paper: nothing is lost, nothing is loaded, every link leads somewhere."""

import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cli.main import main
from bot.model.card import Card, Check, Repair
from bot.model.marked import plain
from bot.model.rule import Shelf, StopRule
from bot.paper import pieces, sheet
from bot.paper.html import set_html
from bot.paper.text import COLUMNS, set_text

KB = Path(__file__).parent.parent / "kb"
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")


def every_card() -> list[Card]:
    found = (read_card(p.read_text(), str(p)) for p in sorted(KB.glob("cards/*/*.md")))
    return [card for card in found if isinstance(card, Card)]


def every_rule() -> list[StopRule]:
    found = (read_rule(p.read_text(), str(p)) for p in KB.glob("stop-rules/*.md"))
    return [rule for rule in found if isinstance(rule, StopRule)]


CARDS, RULES = every_card(), every_rule()


def words(text: str) -> str:
    return " ".join(re.sub(r"[|=]|-{3,}|\[ \]|!!", " ", text).lower().split())


FENCE = "```"
"""Round a diagram: a mark of the page, not a word of it."""


@pytest.mark.parametrize("card", CARDS, ids=lambda card: card.id)
def test_all_of_a_page_is_on_paper(card: Card) -> None:
    text = words(set_text(sheet.page(card, RULES)))
    told = [card.title, *card.signs, card.drive.value, card.proof.clean]
    told += [block.text for block in card.opening]
    parts: list[Check | Repair] = [*card.checks, *card.repairs]
    for part in parts:
        told += [part.title, *(block.text for block in part.body)]
    for cause in card.causes:
        told += [f"{cause.letter} {cause.name}", cause.note]
    told += [f.answer for check in card.checks for f in check.findings]
    for said in told:
        for line in said.replace(FENCE, "").split("\n"):
            bare = words(plain(re.sub(r"^(?:[0-9]+[.)]|-)\s+", "", line.strip())))
            assert bare in text, line


@pytest.mark.parametrize("card", CARDS, ids=lambda card: card.id)
def test_stop_rules_that_a_page_leads_to_stand_in_full(card: Card) -> None:
    text = words(set_text(sheet.page(card, RULES)))
    for rule in RULES:
        assert (words(plain(rule.do_now[0])) in text) is (rule.id in sheet.led_to(card))


def test_plain_text_keeps_to_its_columns() -> None:
    text = set_text(sheet.book(Shelf(tuple(CARDS), tuple(RULES))))
    wide = [line for line in text.split("\n") if len(line) > COLUMNS]
    assert not [line for line in wide if not line.startswith("|")]


class Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.hrefs: list[str] = []
        self.loads: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = {name: value or "" for name, value in attrs}
        self.ids += [named["id"]] if "id" in named else []
        self.hrefs += [named["href"]] if "href" in named else []
        self.loads += [tag] if tag in ("img", "script", "link", "iframe") else []


def test_html_loads_nothing_and_every_link_leads_to_one_place() -> None:
    html = set_html(sheet.book(Shelf(tuple(CARDS), tuple(RULES))), "All")
    found = Reader()
    found.feed(html)
    assert not found.loads
    assert "url(" not in html
    ids = {card.id for card in CARDS} | {rule.id for rule in RULES}
    assert ids <= set(found.ids)
    inside = [href for href in found.hrefs if href.startswith("#")]
    assert len(inside) > 500
    assert all(href[1:] in found.ids for href in inside)
    assert all(href.startswith(("#", "https:")) for href in found.hrefs)


def test_what_a_page_says_is_never_markup() -> None:
    page = CARDS[0].signs[0]
    assert page
    told: tuple[pieces.Piece, ...] = (
        pieces.Para("<script>x</script> & <b>"),
        pieces.Row("-", "<img src=x>"),
    )
    html = set_html(told, "<title>")
    assert "<script" not in html
    assert "<img" not in html
    assert "&lt;title&gt;" in html


def test_book_has_contents_by_complaint_and_an_index_of_every_sign() -> None:
    text = words(set_text(sheet.book(Shelf(tuple(CARDS), tuple(RULES)))))
    for card in CARDS:
        assert text.count(words(card.title)) >= 2 + len(card.signs)


def test_commands_print_pages_systems_and_files(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["card", "hub-runs-hot"]) == 0
    assert "MAY IT MOVE: CREEP TO SAFETY" in capsys.readouterr().out
    out = tmp_path / "brakes.html"
    assert main(["print", "brakes", "no-brakes", "--html", "--out", str(out)]) == 0
    count = int(capsys.readouterr().out.split()[0])
    assert count >= 4  # a fault page, the procedures of the system, the stop rule
    assert out.read_text().count("<h1") == count
    assert main(["print", "nothing"]) == 1
    assert "no page or system 'nothing'" in capsys.readouterr().err
    assert main(["print", "brakes", "--out", str(tmp_path / "no" / "x")]) == 1
    assert "cannot be written" in capsys.readouterr().err


@pytest.mark.skipif(BROWSER is None, reason="no chromium; tools/paper.py prints all")
def test_a_page_prints_in_a_real_browser(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(set_html(sheet.page(CARDS[0], RULES), CARDS[0].title))
    out = tmp_path / "page.pdf"
    wanted = f"--print-to-pdf={out}"
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [str(BROWSER), *flags, wanted, page.as_uri()], check=True, capture_output=True
    )
    assert out.read_bytes().startswith(b"%PDF")
