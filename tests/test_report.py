"""Reports of jobs and trucks, and the plots in them."""

import re
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from bot.cli.main import main
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.truck import keep, use
from bot.job import events as e
from bot.job.job import Job
from bot.model.truck import Truck
from bot.paper.markdown import literal
from bot.paper.plot import HIGH, LETTER, WIDE, Curve, Plot, steps, svg, table_of
from bot.store.journal import Journal
from tests.seeds import seed

SAID = "wheel valve stuck open, it hisses after parking"
HOSTILE = "*one* [wheel](http://x.invalid) <script>hisses</script> | `after` parking"


class Walked(KbLibrary):
    """The knowledge base, with a clock that the test sets and no steady one."""

    moment = ""

    def now(self) -> str:
        return self.moment

    def steady(self) -> str:
        return ""


def work(kb: Path, home: Path, journal: Journal, *typed: str) -> Conversation:
    """A job of words in turn; what begins with @ sets the clock."""
    library = Walked(str(kb), str(home), journal)
    talk = Conversation(library, journal, library.now)
    for words in typed:
        if words.startswith("@"):
            library.moment = f"{words[1:]}:00+00:00"
            continue
        talk.hear(words)
    talk.leave()
    return talk


@pytest.fixture(scope="module")
def home(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A truck with two closed jobs of one fault, and one open with readings."""
    home = seed(tmp_path_factory.mktemp("home"))
    keep(str(home), "heron", Truck("Heron", since=date(2024, 1, 1), yearly_km=6000.0))
    use(str(home), "heron")
    journal = Journal(home)
    for day, said, spent in (
        (
            "2025-03-02",
            f"wheel valve stuck open, it hisses after parking. {HOSTILE}",
            "12",
        ),
        ("2026-05-02", "wheel valve stuck open, it hisses after parking", "30"),
    ):
        work(
            kb,
            home,
            journal,
            f"@{day}T08:00",
            said,
            "1",
            "check 7",
            "2",
            "repair 5",
            "done",
            "always",
            "1",
            "1",
            f"90 min, {spent} money",
        )
    work(
        kb,
        home,
        journal,
        "@2026-11-02T08:00",
        "air pressure all gone in the morning, both gauges zero after a night parked",
        "1",
        "check 5",
        "8.2 bar",
        "@2026-11-02T08:05",
        "8.0 bar",
        "@2026-11-02T08:11",
        "7.7 bar",
    )
    return home


def told(
    home: Path, capsys: pytest.CaptureFixture[str], *words: str, status: int = 0
) -> str:
    assert main(["--home", str(home), "report", *words]) == status
    shown = capsys.readouterr()
    return shown.err if status else shown.out


def test_job_is_told_from_its_first_words_to_its_end(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = told(home, capsys, "2")
    assert text.startswith("# Job 2: ")
    for says in (
        "**May it move:** ",
        "Cause: Wheel tap or union weeping. Repair: Re-make the joint at the wheel",
        "wheel valve stuck open, it hisses after parking",
        "Bubbles round a nut, union, tap or hose end",
        "Spent: 1 h 30 min, money 30.",
        "## What it may be",
        "hearsay, until people who know have vetted it",
    ):
        assert says in text, says


def test_readings_are_told_with_the_minutes_that_passed(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = re.findall(r"^\| ([0-9.]+) \| ([0-9.]+) \|$", told(home, capsys, "3"), re.M)
    assert rows == [("0", "8.2"), ("5", "8"), ("11", "7.7")]


def test_history_adds_up_and_names_what_came_again(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = told(home, capsys)
    assert "Jobs closed: 2, open: 1." in text
    assert "Together 3.0 hours of work and 42 money." in text
    assert ": 2 times. The same cause: Wheel tap or union weeping 2 times." in text
    assert "| 2025 | 12 |" in text
    assert "| 2026 | 30 |" in text


def test_a_persons_words_are_no_markup(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Read by a Markdown library, and by the standard library's reader of HTML."""
    html = MarkdownIt("commonmark").enable("table").render(told(home, capsys, "1"))
    for page in (html, told(home, capsys, "1", "--html")):
        read = Tags()
        read.feed(page)
        assert "script" not in read.tags
        assert not read.links
        assert " ".join(HOSTILE.split()) in " ".join("".join(read.words).split())


class Tags(HTMLParser):
    """What a page of HTML holds."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.links: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.links += [v or "" for name, v in attrs if name in ("href", "src")]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_html_is_one_file_with_plots_that_needs_nothing_else(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.html"
    assert "A report in " in told(home, capsys, "3", "--html", "--out", str(path))
    text = path.read_text()
    assert text.count("<svg") == 2
    assert "http" not in text
    assert "@import" not in text


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("99",), "there is no job 99; 'chock jobs' lists them"),
        (("many",), "'many' is no job; write its number"),
        (
            ("1", "--out", "/nowhere/at/all.md"),
            "'/nowhere/at/all.md' cannot be written",
        ),
        (("--truck", "Otter"), "there is no note of a truck 'Otter'"),
    ],
)
def test_wrong_question_is_answered_in_one_line(
    words: tuple[str, ...],
    says: str,
    home: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shown = told(home, capsys, *words, status=1)
    assert says in shown
    assert shown.count("\n") == 1


def test_jobs_of_no_truck_count_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    journal = Journal(seed(tmp_path))
    events = (
        e.Described("hiss", (), 1.0),
        e.NothingFitted(),
        e.Recorded("", "", proved=False, helped=False, minutes=60.0, money=7.0),
    )
    journal.record(journal.open_job(), Job(), events, "2026-05-02T08:00:00+00:00")
    assert "Together 1.0 hours of work and 7 money." in told(tmp_path, capsys)


def test_truck_without_jobs_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "there are no jobs of Your truck yet" in told(
        seed(tmp_path), capsys, status=1
    )


@given(st.text(max_size=80))
def test_literal_words_come_back_letter_for_letter(text: str) -> None:
    """As markdown-it reads them; of white space only that there is some."""
    shown = " ".join("".join(c for c in text if c.isprintable()).split())
    tokens = (
        MarkdownIt("commonmark")
        .enable("strikethrough")
        .parseInline(f"x {literal(shown)} x")
    )
    said = "".join(child.content for child in tokens[0].children or ())
    assert said.split() == f"x {shown} x".split()


NUMBERS = st.floats(-1e6, 1e6).map(lambda x: round(x, 3))


@given(NUMBERS, NUMBERS)
def test_figures_of_an_axis_are_round_and_span_the_range(
    one: float, two: float
) -> None:
    low, high = sorted((one, two))
    figures = steps(low, high)
    assert 2 <= len(figures) <= 8
    each = figures[1] - figures[0]
    assert figures[0] <= low + 1e-6 * each
    assert figures[-1] >= high - 1e-6 * each
    assert f"{each:.0e}"[0] in "125"


@settings(max_examples=60)
@given(
    st.lists(
        st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=6),
        min_size=1,
        max_size=5,
    ),
    st.booleans(),
)
def test_nothing_is_drawn_outside_the_picture_and_no_name_over_another(
    rows: list[list[tuple[float, float]]], is_bars: bool
) -> None:
    curves = tuple(Curve(f"<{n}>", tuple(sorted(row))) for n, row in enumerate(rows))
    plot = Plot("a & b", "x", "y", curves[:1] if is_bars else curves, is_bars=is_bars)
    drawn = svg(plot)
    for name, most in (("x", WIDE), ("y", HIGH)):
        for at in re.findall(rf' c?{name}[12]?="([-0-9.]+)"', drawn):
            assert -1 <= float(at) <= most + 1
    if not is_bars:
        ends = sorted(float(y) for y in re.findall(r'y="([0-9.]+)"[^>]*>&lt;', drawn))
        assert len(ends) == len(curves)
        assert all(b - a >= LETTER for a, b in pairwise(ends))
    assert "<0>" not in drawn
    assert "a &amp; b" in drawn


def test_table_of_a_plot_has_a_row_for_each_place() -> None:
    curves = (Curve("a", ((0, 1), (1, 2))), Curve("b", ((1, 5),)))
    plot = Plot("t", "step", "per cent", curves, marks=((1, "last"),))
    head, rows = table_of(plot)
    assert head == ("step", "a", "b")
    assert rows == (("0", "1", ""), ("last", "2", "5"))
