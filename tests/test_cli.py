"""Commands: what they print, how they exit, and that nothing typed can break them."""

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from bot.cli.guard import plain
from bot.cli.lines import columns
from bot.cli.main import main
from tests.seeds import seed

GOOD = (Path(__file__).parent / "cards" / "drain-left-open.md").read_text()


@pytest.fixture(autouse=True)
def places(tmp_path: Path, kb: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CHOCK_HOME", str(seed(tmp_path / "store")))
    monkeypatch.setenv("CHOCK_KB", str(kb))


def run(*words: str, typed: str = "", **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "bot.cli", *words],
        input=typed,
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
        env={**os.environ, **env},
    )


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(list(words)) == 0
    return capsys.readouterr().out


def test_ask_json_is_exactly_as_promised(capsys: pytest.CaptureFixture[str]) -> None:
    said = json.loads(printed(capsys, "ask", "--json", "wheel valve stuck open"))
    assert list(said) == ["words", "stop", "fits", "none", "cards"]
    assert said["words"] == "wheel valve stuck open"
    assert said["fits"] is True
    assert 0 <= said["none"] <= 1
    first = said["cards"][0]
    assert list(first) == ["id", "title", "probability", "why"]
    assert first["id"] == "wheel-valve-leaks"
    assert first["why"]
    assert sum(c["probability"] for c in said["cards"]) + said["none"] <= 1.001


def test_ask_raises_stop_rules_first(capsys: pytest.CaptureFixture[str]) -> None:
    words = "bulge in the side wall of the tyre"
    said = json.loads(printed(capsys, "ask", "--json", words))
    assert [stop["id"] for stop in said["stop"]] == ["tyre-damaged"]
    assert said["stop"][0]["text"]
    assert printed(capsys, "ask", words).startswith("STOP.")


def test_ask_says_plainly_when_nothing_fits(capsys: pytest.CaptureFixture[str]) -> None:
    said = json.loads(printed(capsys, "ask", "--json", "my sourdough will not rise"))
    assert said["fits"] is False
    assert said["none"] > 0.5
    assert "Nothing fits" in printed(capsys, "ask", "my sourdough will not rise")


def test_ask_top_limits_the_cards(capsys: pytest.CaptureFixture[str]) -> None:
    said = json.loads(printed(capsys, "ask", "--json", "--top", "1", "hissing wheel"))
    assert len(said["cards"]) == 1


HOSTILE = [
    "\"'`",
    "AND OR NEAR * NOT (",
    "a OR 1=1; DROP TABLE cards",
    "😀 brakes 🚛",
    "\x1b]0;owned\x07hiss\x1b[2J",
    "\u202etyre\u2066",
    "%s %d {0} $(reboot)",
    "brakes\nlights\ttyres",
    "9" * 400,
    "\ud7ff",
]


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_ask_takes_any_words(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "ask", "--json", "--", words)
    assert json.loads(out)["words"] == plain(words)
    shown = printed(capsys, "ask", "--", words)
    assert all(c.isprintable() or c == "\n" for c in shown)


def test_ask_takes_a_megabyte_from_standard_input() -> None:
    done = run("ask", "-", typed="the tyre hisses and " * 50_000)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert len(done.stdout) < 5_000


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("flurble",), "invalid choice"),
        (("ask", "--top", "many", "x"), "invalid int value"),
        (("ask", "--top", "0", "x"), "whole number"),
        (("ask",), "say what is wrong"),
        (("card",), "required"),
    ],
)
def test_wrong_use_is_one_line_and_exit_2(words: tuple[str, ...], says: str) -> None:
    done = run(*words)
    assert done.returncode == 2
    assert says in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("card", "no-such-card"), "'chock cards' lists them"),
        (("jobs", "99"), "'chock jobs' lists them"),
        (("talk", "--job", "99"), "'chock jobs' lists them"),
        (("new", "fault", "Not An Id", "brakes"), "small letters"),
        (("new", "poem", "my-page", "brakes"), "is no kind of page"),
        (("new", "fault", "my-page", "plumbing"), "is no system"),
        (("new", "fault", "my-page"), "name it behind the id"),
        (("new", "note", "my-note", "no-such-page"), "is no page"),
        (("new", "fault", "hub-runs-hot", "brakes"), "is taken by"),
        (("--kb", "/nowhere", "ask", "x"), "--kb DIR"),
        (("lint", "/nowhere"), "knowledge base"),
        (("--home", "/dev/null/x", "jobs"), "--home DIR"),
    ],
)
def test_what_cannot_work_is_one_line_and_exit_1(
    words: tuple[str, ...], says: str
) -> None:
    done = run(*words)
    assert done.returncode == 1
    assert says in done.stderr
    assert done.stderr.count("\n") == 1, done.stderr


def broken_kb(folder: Path, old: str, new: str) -> Path:
    page = folder / "cards" / "air-supply" / "drain-left-open.md"
    page.parent.mkdir(parents=True)
    page.write_text(GOOD.replace(old, new, 1))
    return folder


def test_lint_names_the_file_and_line_of_a_broken_link(tmp_path: Path) -> None:
    kb = broken_kb(tmp_path, "](#1-close-the-drain)\n", "](#1-close-drain)\n")
    done = run("lint", str(kb))
    assert done.returncode == 1
    line = GOOD[: GOOD.index("- **A** Drain cock left open")].count("\n") + 1
    wanted = f"drain-left-open.md:{line}: broken link '#close-drain'"
    assert wanted in done.stdout
    said = json.loads(run("lint", "--json", str(kb)).stdout)
    assert {"path", "line", "says"} == set(said["faults"][0])


def test_wrong_card_is_left_out_with_its_message_and_the_rest_work(
    tmp_path: Path,
) -> None:
    kb = broken_kb(tmp_path, "move:** no limit", "move:** slowly")
    good = tmp_path / "cards" / "air-supply" / "other.md"
    good.write_text(GOOD.replace("drain-left-open", "other"))
    done = run("--kb", str(kb), "ask", "--json", "pump runs all night")
    assert json.loads(done.stdout)["cards"][0]["id"] == "other"
    assert "left out:" in done.stderr
    assert "May it move" in done.stderr


def test_card_and_cards_and_new_print(capsys: pytest.CaptureFixture[str]) -> None:
    assert "MAY IT MOVE: DRIVE" in printed(capsys, "card", "wheel-valve-leaks")
    rows = json.loads(printed(capsys, "cards", "--json"))["cards"]
    kinds = Counter(row["kind"] for row in rows)
    assert kinds["fault"] >= 18
    assert kinds["procedure"] == 14
    assert kinds["fault"] + kinds["stub"] >= 77
    assert "wheel-valve-leaks" in printed(capsys, "cards")


@pytest.mark.parametrize(
    ("kind", "of", "where"),
    [
        ("fault", "brakes", "cards/brakes/my-page.md"),
        ("stub", "engine", "cards/engine/my-page.md"),
        ("procedure", "whole-truck", "procedures/my-page.md"),
        ("note", "other", "notes/my-page.md"),
        ("rule", "", "stop-rules/my-page.md"),
    ],
)
def test_new_begins_a_page_of_each_kind_in_its_place(
    kind: str, of: str, where: str, tmp_path: Path
) -> None:
    kb = broken_kb(tmp_path, "x", "x")
    (kb / "cards" / "air-supply" / "other.md").write_text(GOOD)
    words = ("--kb", str(kb), "new", kind, "my-page", *((of,) if of else ()))
    done = run(*words)
    assert done.returncode == 0, done.stderr
    assert (kb / where).is_file()
    said = run("lint", str(kb / where)).stdout
    assert "still the template's" in said
    assert "is no" not in said
    text = (kb / where).read_text()
    assert run(*words).returncode == 1
    assert (kb / where).read_text() == text


def test_talk_resumes_the_open_job_and_jobs_list_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    first = run("talk", typed="wheel valve stuck open\n1\n")
    assert first.returncode == 0
    assert "Everything is saved" in first.stdout
    again = run("talk", typed="quit\n")
    assert '"wheel valve stuck open"' in again.stdout
    assert first.stdout.splitlines()[-4] in again.stdout
    assert "open" in printed(capsys, "jobs")
    shown = json.loads(printed(capsys, "jobs", "1", "--json"))
    assert shown["words"] == ["wheel valve stuck open"]
    fresh = run("talk", "--new", typed="")
    assert "What is wrong?" in fresh.stdout


def test_talk_works_on_a_terminal_that_knows_only_ascii() -> None:
    done = run(
        "talk",
        typed="wheel valve stuck open\n1\n",
        PYTHONIOENCODING="ascii",
        LC_ALL="C",
    )
    assert done.returncode == 0
    assert "Traceback" not in done.stderr


def test_talk_lines_are_narrow_and_plain() -> None:
    done = run("talk", typed="wheel valve stuck open\n1\nwhy\n*\n?\n0\n")
    shown = [line.removeprefix("> ") for line in done.stdout.splitlines()]
    assert all(len(line) <= 72 for line in shown)
    assert all(c.isprintable() or c == "\n" for c in done.stdout)


def test_help_names_every_command() -> None:
    out = run("--help").stdout
    for name in ("talk", "ask", "card", "cards", "lint", "new", "jobs", "screen"):
        assert f"\n    {name} " in out


def test_links_are_told_by_their_labels_alone() -> None:
    from bot.cli.lines import lines
    from bot.model.card import Caution, Signal
    from bot.talk.messages import Warn

    caution = Caution(Signal.WARNING, "See [working under](../x/under-load.md).")
    assert list(lines([Warn(caution)])) == ["! WARNING: See working under.", ""]


@pytest.mark.parametrize(("told", "width"), [("40", 40), ("200", 72), ("3", 20)])
def test_lines_are_no_wider_than_a_narrow_terminal(
    told: str, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert columns(72) == 72
    monkeypatch.setenv("COLUMNS", told)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    assert columns(72) == width
