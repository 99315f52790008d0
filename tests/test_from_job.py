"""From a recorded job to the draft of a page: read back, and told of."""

import atexit
import re
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from bot.cards.draft import (
    Looked,
    Told,
    note_of,
    page_of,
    plain,
    proposed_id,
    stub_of,
    unfilled_at,
)
from bot.cards.lesser import read_note
from bot.cards.lint import lint_shelf
from bot.cards.read import read_card
from bot.cards.template import fresh_stub
from bot.cards.write import write_card, write_note
from bot.cli.main import main
from bot.desk import drafting
from bot.desk.drafting import Asked, Desk
from bot.desk.library import KbLibrary
from bot.desk.shelf import open_index
from bot.desk.truck import keep, use
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job
from bot.model.card import Card, Drive, Share
from bot.model.pages import Note
from bot.model.rule import Shelf
from bot.model.truck import Truck
from bot.store.index import CardIndex
from bot.store.journal import Journal
from bot.store.scan import RULES, WORDS

HERE = Path(__file__).parent
PAGE = "wheel-valve-leaks"
SOAP, ASKED = "soap-the-vent-of-the-wheel-valve", "ask-whether-it-was-driven-soft"
FROTH = "Yes, bubbles grow at the vent"
REBUILT = "rebuild-the-wheel-valve"
SPLIT = "split-diaphragm-in-the-wheel-valve"
SAID = "one hub hisses after I park. By morning that tyre is soft"
ODD = "the clutch pedal sings a song whenever somebody whistles"
AT = "2026-11-02T08:00:00+00:00"
HOSTILE = (
    "# a title\n## Causes\n- **A** x (usual): [repair 1](#1-x)\n---\nkind: stop rule",
    "**bold** *slanted* `code` [l](http://x.invalid) <b>x</b> &amp; \\* ~~s~~",
    "---\n- - nested\n> quote\n1. one\n1) two\n+ plus\n* star\n| a | b |\n|---|---|",
    "\x1b[31mred\x1b[0m \x00 \u202eturned\u200b \ufeff\x07 a\u2028b\u00a0c \u3164 hiss",
    "```\nfence\n```\n~~~\n    indented\n===\n***\n![p](x.jpg) [x]: http://x.invalid",
    "1. 2. - # > [ ] fill: 'yes': no, {a: b} !tag *alias &anchor % @ ` \" '",
    "word " * 900 + "x" * 3000,
)
OTHER_SCRIPTS = (
    "Воздух уходит из колеса после стоянки",
    "停车后车轮漏气。早上轮胎软了。",
    "الهواء يتسرب من العجلة بعد الوقوف",
    "पहिये से हवा निकलती है। सुबह टायर नरम",
    "Luft entweicht überall, größte Mühe",
)


Seeded = tuple[Path, Path, CardIndex]


@cache
def seeded() -> Seeded:
    """A small knowledge base, and a store with its index, made once."""
    folder = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    kb, home = folder / "kb", folder / "home"
    for each in (kb, home):
        each.mkdir()
    for name in WORDS:
        shutil.copyfile(HERE.parent / "kb" / name, kb / name)
    shutil.copytree(HERE.parent / "bot" / "least" / RULES, kb / RULES)
    (kb / "cards" / "tyre-inflation").mkdir(parents=True)
    shutil.copyfile(
        HERE / "cards" / f"{PAGE}.md", kb / "cards" / "tyre-inflation" / f"{PAGE}.md"
    )
    (kb / "cards" / "brakes").mkdir()
    (kb / "cards" / "brakes" / "squeal.md").write_text(fresh_stub(system="brakes"))
    return kb, home, open_index(str(kb), str(home))


class Store:
    """A knowledge base, a store, and jobs recorded in it."""

    def __init__(self, kb: Path, home: Path, shelf: CardIndex) -> None:
        self.kb, self.home, self.shelf = kb, home, shelf
        self._desk: Desk | None = None

    def record(self, *events: e.Event) -> int:
        """A job of these events; its number."""
        journal = Journal(self.home)
        number = journal.open_job(AT)
        journal.record(number, Job(), events, AT)
        journal.close()
        return number

    def new(self, *words: str, status: int = 0) -> None:
        """Run `chock new` with these words."""
        ends = main(["--kb", str(self.kb), "--home", str(self.home), "new", *words])
        assert ends == status

    def draft(self, number: int, *words: str) -> tuple[Note | Card, str]:
        """The page that `chock new --from` writes, and its text."""
        before = set(self.kb.rglob("*.md"))
        self.new("--from", str(number), *words)
        (path,) = set(self.kb.rglob("*.md")) - before
        text = path.read_text(encoding="utf-8")
        held = (read_note if path.parent.name == "notes" else read_card)(
            text, str(path)
        )
        assert not isinstance(held, tuple), held
        return held, text

    def made(self, number: int, *, is_page: bool = False) -> tuple[Note | Card, str]:
        """The same, not written and quicker."""
        if self._desk is None:
            journal = Journal(self.home)
            library = KbLibrary(str(self.kb), str(self.home), journal)
            self._desk = Desk(journal, library, str(self.home), self.shelf)
        made = drafting.draft(number, Asked(is_page=is_page), self._desk, ())
        held = (read_note if made.about else read_card)(made.text, made.path)
        assert not isinstance(held, tuple), held
        return held, made.text


@pytest.fixture
def store() -> Store:
    """The same without what another test left in them."""
    kb, home, shelf = seeded()
    for path in (kb / "notes", home / "jobs", home / "trucks"):
        shutil.rmtree(path, ignore_errors=True)
    for path in (*kb.rglob("*.md"), *home.glob("*.db*")):
        known = path.stem in (PAGE, "squeal") or path.parent.name == RULES
        if not known and not path.name.startswith("index-"):
            path.unlink()
    return Store(kb, home, shelf)


def described(*said: str) -> tuple[e.Event, ...]:
    return tuple(e.Described(words, ((PAGE, 0.9),), 0.1) for words in said)


def worked(*said: str, found: str = FROTH, words: str = "") -> tuple[e.Event, ...]:
    """A job up to a made repair, on the page."""
    return (
        *described(*(said or (SAID,))),
        e.CardChosen(PAGE),
        e.CheckProposed(SOAP),
        e.Found(SOAP, found, words),
        e.RepairProposed(REBUILT),
        e.RepairDone(REBUILT),
    )


def closed(*events: e.Event, cause: str = SPLIT, **more: object) -> tuple[e.Event, ...]:
    """The end of a job: its cause, and its record."""
    ends = {"repair": REBUILT, "proved": True, "helped": False, "minutes": 90.0}
    told = {**ends, "money": 12.0, "sure": 0.97, **more}
    return (*events, e.CauseNamed(cause), e.Recorded(cause, **told))  # type: ignore[arg-type]


TRIALS = (e.ShowedBefore(3, 10), e.CycleClean(2), e.CycleClean(), e.ProofEnded())


def lint_says(held: Note | Card, text: str) -> list[str]:
    notes = (held,) if isinstance(held, Note) else ()
    cards = (held,) if isinstance(held, Card) else ()
    faults = lint_shelf(Shelf(cards, (), (), notes), {}, date(2026, 12, 1), ())
    return [f"{fault.place.line} {fault.says}" for fault in faults]


# Notes


def test_a_proved_job_makes_a_note_of_its_page_with_all_that_was_seen(
    store: Store,
) -> None:
    held, text = store.made(store.record(*closed(*worked(words="froths"), *TRIALS)))
    assert isinstance(held, Note)
    assert (held.about, held.seen, held.share) == (
        PAGE,
        date(2026, 11, 2),
        Share.PRIVATE,
    )
    assert held.title == "Split diaphragm in the wheel valve, cured and proved"
    for says in (
        f'The complaint: "{SAID}".',
        f'Check "Soap the vent of the wheel valve": {FROTH} ("froths").',
        "It was: Split diaphragm in the wheel valve.",
        "Repair made: Rebuild the wheel valve.",
        "Proved by 3 clean trials. Before, it showed in 3 of 10 tries.",
        "It took 1 h 30 min of work.",
    ):
        assert says in text, says
    assert "money" not in text
    assert "12" not in text.replace("2026-11-02", "")


def test_a_job_without_enough_trials_says_that_nothing_is_proved(store: Store) -> None:
    some = (*worked(), e.ShowedBefore(3, 10), e.CycleClean(), e.ProofEnded())
    number = store.record(*closed(*some, proved=False, sure=0.6))
    held, text = store.made(number)
    assert held.title.endswith(", not proved")
    assert "Not proved: 1 clean trial so far, which makes it 60% sure." in text
    none = (*worked(), e.ShowedBefore(1, 1), e.ProofEnded())
    _, text = store.made(store.record(*closed(*none, proved=False, sure=0.0)))
    assert "Not proved: no trial was clean." in text


def test_what_did_not_help_and_what_came_back_is_told(store: Store) -> None:
    blown = "blow-the-wheel-valve-through"
    number = store.record(
        *described(SAID),
        e.CardChosen(PAGE),
        e.RepairProposed(blown),
        e.RepairDone(blown),
        e.ShowedBefore(1, 1),
        e.CycleNotClean(),
        e.RepairProposed(REBUILT),
        e.RepairDone(REBUILT),
        *closed(e.CycleClean(), e.ProofEnded()),
        e.CameBack(),
    )
    _, text = store.made(number)
    assert '"Blow the wheel valve through" did not cure it.' in text
    assert '"Rebuild the wheel valve" did not cure it.' in text
    assert "It came back after the job had been closed." in text


def test_a_job_given_up_is_a_note_that_says_so(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    given_up = (*described(SAID), e.CardChosen(PAGE), e.HelpCalled())
    number = store.record(
        *closed(*given_up, cause=NOT_KNOWN, repair="", proved=False, helped=True)
    )
    held, text = store.draft(number)
    assert held.title.startswith("Not found: One hub hisses after I park")
    assert "What it was is not known. Help was called." in text
    assert "not closed" not in capsys.readouterr().out
    held, text = store.draft(store.record(*worked()))
    assert isinstance(held, Note)
    assert "The job is not closed" in capsys.readouterr().out


def test_the_truck_is_told_by_its_class_and_never_by_its_name(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    lorry = Truck("Heron", fitted=("air brakes", "24 V", "winch"), aboard=("spade",))
    keep(str(store.home), "heron", lorry)
    use(str(store.home), "heron")
    said = "our Heron hisses at one hub, HERON's tyre is soft"
    named = (e.TruckNamed("heron"), *closed(*worked(said), *TRIALS))
    _, text = store.draft(store.record(*named))
    assert "On a truck with air brakes and 24 V." in text
    assert '"the truck hisses at one hub, the truck\'s tyre is soft"' in text
    for told in ("heron", "winch", "spade"):
        assert told not in text.lower(), told
    assert "Your truck's name was in the words" in capsys.readouterr().out


def test_a_note_whose_truck_nobody_noted_has_a_place_to_fill_in(store: Store) -> None:
    held, text = store.made(store.record(*closed(*worked(), *TRIALS)))
    line = text.split("\n").index(
        "fill in: which class of truck, such as air brakes and 24 V; never whose it is "
        "or where it stands."
    )
    says = [s for s in lint_says(held, text) if s.startswith(f"{line + 1} ")]
    assert len(says) == 1
    assert "is not filled in yet" in says[0]


def test_a_long_job_stays_within_the_lines_of_a_note(store: Store) -> None:
    many = [Looked(f"Check {n}", "x" * 190, "y" * 300) for n in range(60)]
    told = a_told(tuple(SAID * 5 for _ in range(9)), looked=many)
    held = read_note(write_note(note_of(told, "a", PAGE)), "kb/notes/a.md")
    assert isinstance(held, Note), held
    assert "Check 59" in held.body[2].text


# Pages


def test_none_of_the_causes_makes_a_page_beside_the_one_that_was_tried(
    store: Store,
) -> None:
    ends = closed(*worked(), *TRIALS, cause="")
    held, text = store.made(store.record(*ends))
    assert isinstance(held, Card)
    assert not held.is_stub
    assert held.system == "tyre-inflation"
    assert (held.share, held.drive) == (Share.PRIVATE, Drive.CARE)
    assert held.signs == ("one hub hisses after I park", "By morning that tyre is soft")
    assert [cause.name for cause in held.causes] == ["fill in the cause"]
    assert [repair.title for repair in held.repairs] == ["Rebuild the wheel valve"]
    assert held.repairs_for(held.causes[0]) == held.repairs
    assert "It was none of the causes that the page names." in text
    assert "Proved by 3 clean trials." in text


def test_no_page_that_fitted_makes_a_page_with_the_persons_words(store: Store) -> None:
    fitted = (*described(ODD), e.NothingFitted())
    held, text = store.draft(
        store.record(*fitted, e.Recorded("", "", False, False, 0.0, 0.0)),
        "clutch-sings",
        "driveline",
    )
    assert isinstance(held, Card)
    assert (held.id, held.system, held.signs) == ("clutch-sings", "driveline", (ODD,))
    assert held.drive is Drive.CARE
    assert held.title == "The clutch pedal sings a song whenever somebody whistles"
    unfilled = [s for s in lint_says(held, text) if "is not filled in yet" in s]
    lines = text.split("\n")
    proof = lines.index("## Proof") + 3  # where both lines of the trial are told
    marked = {
        proof if line.startswith(("- Clean", "- Not clean")) else n
        for n, line in enumerate(lines, 1)
        if "fill in" in line
    }
    assert {int(says.split()[0]) for says in unfilled} == marked
    assert len(unfilled) >= 12


def test_a_page_may_be_asked_for_and_takes_cause_repair_and_proof(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    number = store.record(*closed(*worked(), *TRIALS))
    held, _ = store.draft(number, "--page")
    assert isinstance(held, Card)
    assert [c.name for c in held.causes] == ["Split diaphragm in the wheel valve"]
    model = read_card((HERE / "cards" / f"{PAGE}.md").read_text(), "kb/cards/x/x.md")
    assert isinstance(model, Card)
    repair, proof = model.repair(REBUILT), model.proof
    assert repair
    assert held.repairs[0].needs.parts == repair.needs.parts
    assert held.repairs[0].needs.after == repair.needs.after
    assert (held.proof.clean, held.proof.needs) == (plain(proof.clean), proof.needs)
    out = capsys.readouterr().out
    assert f"worked by '{PAGE}': a field note there may be all that is needed" in out


def test_the_strictest_verdict_that_there_ever_was_stands_on_the_page(
    store: Store,
) -> None:
    raised = e.StopRaised(
        ("a-rule",), (("a-rule", "Air is gone", "do not move", ("Stop.",)),)
    )
    fitted = (*described(ODD), raised, e.StopDenied(), e.NothingFitted())
    number = store.record(*fitted, e.Recorded("", "", False, False, 0.0, 0.0))
    held, text = store.made(number)
    assert isinstance(held, Card)
    assert held.drive is Drive.DO_NOT_MOVE
    assert 'the stop rule "Air is gone (looked at, and not so)" was raised' in text
    noted = (*described(SAID), raised, e.StopCleared(), e.CardChosen(PAGE))
    _, text = store.made(store.record(*noted))
    assert 'Raised on the way, to stop at once: "Air is gone".' in text


def test_a_finding_that_held_the_truck_holds_it_on_the_page(store: Store) -> None:
    soft = "Yes, driven soft, its side is scuffed, or I don't know"
    number = store.record(
        *described(SAID), e.CardChosen(PAGE), e.Found(ASKED, soft), e.Found(ASKED, "No")
    )
    held, _ = store.made(number, is_page=True)
    assert isinstance(held, Card)
    assert held.drive is Drive.DO_NOT_MOVE


def test_a_page_that_is_gone_makes_a_page_that_still_names_what_was_found(
    store: Store,
) -> None:
    gone = (*described(SAID), e.CardChosen("gone-page"), e.Found("look-at-it", "Wet"))
    number = store.record(*closed(*gone, e.HelpCalled(), cause="a-bad-hose", repair=""))
    held, text = store.draft(number, "anew", "brakes")
    assert isinstance(held, Card)
    assert [cause.name for cause in held.causes] == ["a bad hose"]
    assert 'Check "look at it": Wet.' in text
    assert held.drive is Drive.DO_NOT_MOVE


def test_answers_that_the_disk_lost_are_told_of(store: Store) -> None:
    lost = (*described(SAID), e.CardChosen(PAGE), e.PartLost(3))
    _, text = store.made(store.record(*lost))
    assert "Some answers of the job are lost." in text


def test_what_cannot_be_read_as_a_page_becomes_a_stub(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(told: Told, page_id: str, system: str) -> Card:
        made = page_of(told, page_id, system)
        return replace(made, title="# [no](x)")

    monkeypatch.setattr(drafting, "page_of", broken)
    held, _ = store.draft(store.record(*described(ODD)), "sings", "brakes")
    assert isinstance(held, Card)
    assert held.is_stub
    assert held.signs == (ODD,)


# A person's words


def test_no_word_breaks_the_grammar_or_reads_as_markdown(store: Store) -> None:
    for words in (*HOSTILE, *OTHER_SCRIPTS):
        ends = closed(*worked(words, found=FROTH, words=words[:1900]), *TRIALS)
        number = store.record(*ends)
        for is_page in (False, True):
            held, text = store.made(number, is_page=is_page)
            html = (
                MarkdownIt("commonmark").enable(["table", "strikethrough"]).render(text)
            )
            assert set(re.findall(r"<([a-z0-9]+)", html)) <= TAGS, words
            assert html.count("<a ") == text.count("[repair 1](#") == 2 * is_page, words
            assert all(c == "\n" or c.isprintable() for c in text), words
            if isinstance(held, Note):
                body = html.partition("<h1>")[2]
                assert not re.search("<(?:li|h[1-6]|hr|em|strong|a)\\b", body), words


TAGS = {"hr", "h1", "h2", "h3", "p", "ul", "ol", "li", "em", "strong", "a"}


def test_words_in_other_scripts_stay_as_they_were_said(store: Store) -> None:
    for words in OTHER_SCRIPTS:
        held, text = store.made(store.record(*worked(words)))
        assert words in text
        assert re.fullmatch("[a-z0-9-]+", held.id)


def a_told(
    said: tuple[str, ...], looked: Sequence[Looked] = (), cause: str = ""
) -> Told:
    return Told(
        date(2026, 11, 2),
        "",
        said,
        tuple(looked),
        cause,
        f"It was: {plain(cause)}.",
        None,
        (),
        ("", None),
        "5 min",
        (said[0][:60],),
        Drive.CARE,
    )


ANY_WORDS = st.one_of(
    st.text(max_size=80),
    st.text("-*+#>|`~_[]()!&<>\\:;.,'\" 1a\n\t=", max_size=60),
)


@settings(max_examples=40)
@given(ANY_WORDS, ANY_WORDS, ANY_WORDS)
def test_whatever_is_said_is_read_back_without_a_fault(
    said: str, answer: str, cause: str
) -> None:
    told = a_told((said, answer), [Looked(answer, said, cause)], cause)
    note = read_note(write_note(note_of(told, "a", PAGE)), "kb/notes/a.md")
    assert isinstance(note, Note), note
    assert write_note(note) == write_note(note_of(told, "a", PAGE))
    for make in (page_of, stub_of):
        made = make(told, "a", "brakes")
        held = read_card(write_card(made), "kb/cards/brakes/a.md")
        assert isinstance(held, Card), held
        assert write_card(held) == write_card(made)
        assert held.signs == made.signs


def test_what_is_left_out_of_words_is_said_otherwise() -> None:
    assert plain("<5 bar -> ~8 bar, nuts & bolts #3") == (
        "under 5 bar to about 8 bar, nuts and bolts no. 3"
    )
    assert plain("see | tag # and #") == "see / tag and"
    cut = plain("one hub hisses " * 40, 100)
    assert len(cut) <= 100
    assert cut.endswith(("one ...", "hub ...", "hisses ..."))


# What is told


def test_a_name_a_plate_and_a_telephone_number_are_told_by_their_line(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    said = (
        "one hub hisses after I park",
        "Ask Tom in Marram, plate M-AB 1234",
        "ring 01632 960123 on Monday. Hisses again",
    )
    for asked in ((), ("--page",)):
        _, text = store.draft(store.record(*worked(*said)), *asked)
        lines = [row.lower() for row in text.split("\n")]
        told = re.findall(r"^line (\d+): (.*)$", capsys.readouterr().out, re.M)
        for what, planted in (
            ("a number plate", "m-ab 1234"),
            ("a telephone number", "01632 960123"),
            ("may be a name: Tom, Marram", "tom in marram"),
        ):
            at = [int(n) for n, says in told if what in says]
            assert at == [n for n, row in enumerate(lines, 1) if planted in row], what
        names = [says for _, says in told if "may be a name" in says]
        assert not [says for says in names if "Monday" in says or "Hisses" in says]


def test_a_marking_that_forbids_passing_on_is_told(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    store.draft(store.record(*worked("it hisses", "from the sheet marked TLP:RED")))
    assert "TLP:RED" in capsys.readouterr().out


def test_a_page_that_says_the_same_is_told_and_the_notes_own_is_not(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    held = read_card((HERE / "cards" / f"{PAGE}.md").read_text(), "kb/cards/x/x.md")
    assert isinstance(held, Card)
    store.draft(store.record(*closed(*worked(*held.signs[:4]), *TRIALS)))
    assert "much like" not in capsys.readouterr().out
    other_words = "wheel valve never shuts and the tyre bleeds down"
    store.draft(store.record(*described(other_words), e.NothingFitted()))
    assert f"much like '{PAGE}' (0.6" in capsys.readouterr().out
    fitted = (*described(*held.signs[:4]), e.NothingFitted())
    store.draft(store.record(*fitted))
    out = capsys.readouterr().out
    found = re.search(
        rf"much like '{PAGE}' \((0\.[5-9]\d|1\.00)\): consider adding", out
    )
    assert found, out
    assert f"chock new note ID {PAGE}" in out
    store.draft(store.record(*described(ODD), e.NothingFitted()), "sings", "driveline")
    assert "much like" not in capsys.readouterr().out


def test_any_fresh_page_is_held_against_what_is_there(
    store: Store, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    store.new("fault", "wheel-valve-leaks-at-rest", "brakes")
    assert f"much like '{PAGE}'" in capsys.readouterr().out
    store.new("stub", "clutch-pedal-sings", "driveline")
    assert "much like" not in capsys.readouterr().out
    store.home = tmp_path / "no-folder"
    store.home.write_text("")
    store.new("note", "begun-all-the-same", PAGE)
    assert "What is like it was not looked for: " in capsys.readouterr().out


def test_the_first_and_last_line_say_what_was_written_and_what_next(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    store.draft(store.record(*closed(*worked(), *TRIALS)), "my-note")
    *first, nearly, last = capsys.readouterr().out.splitlines()
    assert first[0].endswith(
        f"notes/my-note.md is drafted from job 1: a field note about '{PAGE}'."
    )
    assert nearly.endswith("notes/my-note.md")
    assert "chock lint" in nearly
    assert "private" in last


# Names of pages, and what is refused


def test_a_name_is_proposed_that_is_free_and_tells_of_nobody(store: Store) -> None:
    number = store.record(*worked("Tom at hub 01632960123 says: one hub hisses"))
    first, _ = store.draft(number)
    second, _ = store.draft(number)
    assert (first.id, second.id) == (
        "hub-says-one-hub-hisses",
        "hub-says-one-hub-hisses-2",
    )
    assert proposed_id("Größe: naïve!", (), ()) == "groe-naive"
    assert proposed_id("漏气", {"from-a-job"}, ()) == "from-a-job-2"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--from", "77"), "there is no job 77"),
        (("--from", "x"), "is no job; write its number"),
        (("--from", "1", PAGE), "is taken by"),
        (("--from", "1", "Not An Id"), "small letters"),
        (("--from", "1", "my-page", "plumbing"), "is no system"),
        (("--from", "1", "note", "my-note"), "a draft has no kind to name"),
        (("--from", "1", "a", "brakes", "b"), "a draft has no kind to name"),
        (("--page", "fault", "my-page", "brakes"), "--page goes with --from"),
        (("--from", "2"), "nothing was said in job 2"),
        (("--from", "3"), "nothing in that job tells which system"),
    ],
)
def test_what_cannot_be_drafted_is_refused_with_what_to_do(
    words: tuple[str, ...],
    says: str,
    store: Store,
    capsys: pytest.CaptureFixture[str],
) -> None:
    store.record(*worked())
    store.record(e.TruckNamed("heron"))
    store.record(e.Described(ODD, (), 1.0))
    before = set(store.kb.rglob("*.md"))
    store.new(*words, status=1)
    assert says in capsys.readouterr().err
    assert set(store.kb.rglob("*.md")) == before


def test_what_was_said_twice_stands_once() -> None:
    told = a_told(("it hisses at rest. Hot hub", "Hot hub! At rest it hisses"))
    assert stub_of(told, "a", "brakes").signs == ("it hisses at rest", "Hot hub")


def test_what_is_still_to_be_filled_in_is_told_by_the_line_it_stands_on() -> None:
    text = fresh_stub().replace("\nWhat to do", "\nWait.\nfill in: more.\nWhat to do")
    held = read_card(text, "kb/cards/brakes/a.md")
    assert isinstance(held, Card)
    wanted = text.split("\n").index("fill in: more.") + 1
    assert f"{wanted} 'fill in: more.' is not filled in yet" in str(
        lint_says(held, text)
    )
    assert unfilled_at("1. Look at it.\n2. fill in: the rest.") == 1
    assert unfilled_at("fill in what one sees") == 0
    for text in ("Fill in the crack.", "then fill in the form", "backfill in: x"):
        assert unfilled_at(text) is None, text
