"""The documents tell the truth: transcript, commands, rooms, tools, template."""

import re
from datetime import date
from pathlib import Path

import pytest

from bot.calc.book import SHEETS
from bot.cards.template import fresh_card
from bot.cli.main import _COMMANDS, main
from bot.model.card import Drive, Often, Price, Share, Signal, Strength, Sum
from bot.talk.choices import BACK, CALL, PAUSE, SUSPECTS, WHY
from bot.talk.table import BY_MARK, MOVES, markdown
from tests.seeds import seed
from tests.tooling import tool

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
AUTHORS = (ROOT / "kb" / "README.md").read_text()


def test_transcript_is_what_chock_says_now(tmp_path: Path) -> None:
    """If this fails: python tools/transcript.py --write, then read it."""
    transcript = tool("transcript")
    block = transcript.block_of(README)
    assert transcript.transcript(block, seed(tmp_path)) == block


def test_screen_in_the_readme_is_what_it_shows_now(tmp_path: Path) -> None:
    """If this fails: python tools/transcript.py --write, then look at it."""
    transcript = tool("transcript")
    said, shown = transcript.screen_of(README)
    assert transcript.screen(said, seed(tmp_path)) == shown


def test_moves_in_the_readme_are_those_of_the_one_table() -> None:
    assert markdown() in README
    marks = {choice.key for choice in (WHY, BACK, PAUSE, CALL, SUSPECTS)}
    assert marks < set(BY_MARK)
    assert len(BY_MARK) == len([move for move in MOVES if move.mark])


def test_readme_names_every_command() -> None:
    for name in set(_COMMANDS) - {"screen"}:
        assert f"`chock {name}" in README, name


def test_readme_counts_the_sums() -> None:
    assert f"stand beside the cards: {len(SHEETS)} of them" in README


def test_map_names_every_room_and_every_tool() -> None:
    for path in (ROOT / "bot").iterdir():
        if not path.name.startswith("_") and path.suffix in ("", ".py"):
            assert f"\n      {path.stem}" in DEVELOPERS, path.name
    for path in (ROOT / "tools").glob("*.py"):
        if path.name != "environment.py":
            assert f"tools/{path.name}" in DEVELOPERS, path.name


def test_authors_are_told_every_word_of_the_grammar() -> None:
    for kind in (Drive, Share, Often, Price, Signal, Strength, Sum):
        for member in kind:
            assert member.value in AUTHORS, member


def test_authors_see_the_very_template_that_chock_prints() -> None:
    template = AUTHORS.split("## Template")[1]
    shown = "\n".join(
        line.removeprefix("    ")
        for line in template.splitlines()
        if line[:4] == "    "
    )
    bare = re.sub(r"\n{2,}", "\n", fresh_card(date(2028, 11, 30)))
    for line in bare.splitlines():
        assert line in shown, line


def test_top_level_is_exactly_what_was_agreed() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml"}
    agreed |= {"kb", "bot", "tests", "tools"}
    found = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")}
    assert found - {"build", "dist"} == agreed


def test_sum_in_the_readme_is_what_chock_prints(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("CHOCK_HOME", str(tmp_path))
    _, _, rest = README.partition("    $ chock sum ")
    command, *shown = rest.partition("    Holds: ...")[0].splitlines()
    assert main(["sum", *command.split()]) == 0
    printed = capsys.readouterr().out.splitlines()
    assert printed[: len(shown)] == [line.removeprefix("    ") for line in shown]


def test_what_the_keeper_of_a_club_reads_is_what_chock_says_now() -> None:
    """If this fails: python tools/transcript.py --write, then read it."""
    transcript = tool("transcript")
    block = transcript.club_of(README)
    assert transcript.club(block) == block
