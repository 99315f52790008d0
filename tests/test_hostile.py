"""Hostile files and words: refused in a sentence, at once, and nothing is loosened."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from zipfile import ZipFile

import pytest

from bot.calc.book import SHEETS
from bot.calc.sheet import SheetError
from bot.calc.typed import typed
from bot.cards.cautions import read_cautions
from bot.cards.evidence import read_finding
from bot.cards.strict_yaml import parse
from bot.cli.main import Exit, main
from bot.job.event import Event
from bot.job.job import Job
from bot.job.saved import MalformedEventError, pack, unpack
from bot.language.lexicon import Lexicon
from bot.language.line import listen
from bot.match.features import answer
from bot.model.card import Drive
from bot.model.place import NOWHERE, BotError, Fault
from bot.store.backup import restore
from bot.store.chain import DIGEST, Line, write_head, write_line
from bot.store.copies import Copies
from bot.store.files import read_whole
from bot.store.journal import Journal
from bot.talk.library import look
from tests.fakes import FakeLibrary
from tests.samples import SAMPLES
from tests.test_fail_closed import NO_BRAKES, ask, raised, small

__all__ = ["small"]

TOOL = Path(__file__).parent.parent / "tools" / "mutate.py"
AT = "2026-11-25T10:00:00+00:00"


def pipe(path: Path) -> None:
    os.mkfifo(path)


def endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


def sparse(path: Path) -> None:
    path.touch()
    os.truncate(path, 1 << 34)


def folder(path: Path) -> None:
    path.mkdir()


def looped(path: Path) -> None:
    path.symlink_to(path.name)


ODD = (pipe, endless, sparse, folder, looped)


def test_what_is_no_ordinary_file_is_named_and_nobody_waits(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (small / "senses.yaml").unlink()  # it takes long to be read, at each change
    rules = ("brake-air-low", "fire-or-smoke", "someone-hurt", "no-brakes")
    names = [f"stop-rules/{rule}.md" for rule in rules]
    names += ["cards/air-supply/drain-left-open.md", "words.yaml"]
    for odd, name in zip((*ODD, pipe), names, strict=True):
        (small / name).unlink()
        odd(small / name)
    found = ask(small, tmp_path)
    assert "no-brakes" in raised(found)
    assert all(any(name in said for said in found.faults) for name in names)
    where = ["--kb", str(small), "--home", str(tmp_path / "home")]
    assert main([*where, "ask", NO_BRAKES]) == Exit.NOT_WHOLE
    assert "STOP" in capsys.readouterr().out


@pytest.mark.parametrize("odd", ODD)
def test_only_ordinary_files_are_opened(
    odd: Callable[[Path], None], tmp_path: Path
) -> None:
    odd(tmp_path / "x")
    with pytest.raises(OSError, match=r"too long|no ordinary|director|symbolic"):
        read_whole(tmp_path / "x")


def test_a_file_is_read_up_to_its_most_bytes(tmp_path: Path) -> None:
    (tmp_path / "x").write_bytes(b"12345")
    assert read_whole(tmp_path / "x", 5) == b"12345"
    with pytest.raises(OSError, match="too long"):
        read_whole(tmp_path / "x", 4)


@pytest.mark.parametrize("odd", [pipe, folder])
def test_an_odd_truck_note_and_an_odd_job_are_refused_in_a_sentence(
    odd: Callable[[Path], None],
    small: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    home = tmp_path / "home"
    (home / "jobs").mkdir(parents=True)
    (home / "trucks").mkdir()
    odd(home / "trucks" / "heron.yaml")
    odd(home / "jobs" / "1.txt")
    where = ["--kb", str(small), "--home", str(home)]
    assert main([*where, "truck"]) == Exit.FAILED
    assert "heron.yaml:1: cannot be read" in capsys.readouterr().err
    main([*where, "jobs"])
    assert "cannot be read" in capsys.readouterr().err


def test_words_said_a_hundred_times_are_heard_at_once(lexicon: Lexicon) -> None:
    """Each way to begin an act doubled the work."""
    said = "wa 8.2 bar. at frst, 7,4 bar ten mnute later" * 40
    for words in (said, "back later " * 100, "ok no ok later " * 80):
        start = time.process_time()
        listen(words, lexicon)
        assert time.process_time() - start < 2


def test_an_answer_without_a_word_is_no_answer_and_no_trace(lexicon: Lexicon) -> None:
    assert answer("\u8eca!", lexicon).tone == 0.0


def test_half_a_pair_of_letters_is_a_fault_by_line() -> None:
    for most in (100, 1_000_000):
        found = parse("a: b\nc: \ud800", "x", most=most)
        assert isinstance(found, Fault)
        assert found.place.line == 2


@pytest.mark.parametrize("text", ["## lifting\n\n> \r x", "*a" * 200_000, "\x1b[2J"])
def test_cautions_are_read_as_warily_as_pages(text: str) -> None:
    start = time.process_time()
    found = read_cautions(text, "x")
    assert isinstance(found[0], Fault)
    assert time.process_time() - start < 0.5


def test_an_answer_is_a_row_to_pick_and_no_page() -> None:
    assert isinstance(read_finding(f"{'so ' * 100}: sure A.", NOWHERE, {}), Fault)


def test_a_sum_takes_no_book() -> None:
    start = time.process_time()
    with pytest.raises(SheetError, match="too long"):
        typed(SHEETS["leak-rate"], [f"start={' ' * 100_000}x"])
    assert time.process_time() - start < 0.1


# --- jobs by strangers ----------------------------------------------------------------


ODD_VALUES: tuple[object, ...] = (None, {}, [[[]]], float("nan"), 10**400, ["x", 1])


@pytest.mark.parametrize("event", SAMPLES.values(), ids=SAMPLES)
def test_events_come_back_and_no_other_fields_do(event: Event) -> None:
    kind, said = pack(event)
    said = json.loads(json.dumps(said))
    assert unpack(kind, said) == event
    for name in said:
        for odd in ODD_VALUES:
            with pytest.raises(MalformedEventError):
                unpack(kind, {**said, name: odd})


@pytest.mark.parametrize(
    "said", ["{}", "{x}", '{"card": 3}', '{"card": [' + "[" * 50_000 + "]}"]
)
def test_a_line_that_nobody_could_have_written_counts_as_lost(
    said: str, tmp_path: Path
) -> None:
    rows = [write_head(1, AT, "0" * 16)]
    for seq, (kind, held) in enumerate(
        (
            ("Described", '{"words": "hiss", "candidates": [], "none": 1.0}'),
            ("CardChosen", said),
        ),
        1,
    ):
        rows.append(write_line(rows[-1][-DIGEST:], Line(seq, True, AT, kind, held)))
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "1.txt").write_text("".join(f"{row}\n" for row in rows))
    journal = Journal(tmp_path)
    entry = journal.entry(1)
    assert entry is not None
    assert not entry.whole
    assert entry.job != Job()
    assert look(entry.job, FakeLibrary()).ledger.drive is Drive.DO_NOT_MOVE


def test_what_is_no_backup_is_refused(tmp_path: Path) -> None:
    whole = tmp_path / "a.zip"
    with ZipFile(whole, "w") as archive:
        archive.writestr("jobs/1.txt", "x" * 100)
    data = whole.read_bytes()
    for nth in range(len(data)):
        hurt = bytearray(data)
        hurt[nth] ^= 0xFF
        (tmp_path / "b.zip").write_bytes(hurt)
        with suppress(BotError):
            list(restore(Copies(tmp_path / "home"), tmp_path / "b.zip"))
    pipe(tmp_path / "c.zip")
    with pytest.raises(BotError, match="cannot read"):
        list(restore(Copies(tmp_path / "home"), tmp_path / "c.zip"))


# --- a short run of the tool ----------------------------------------------------------


@pytest.mark.parametrize(("what", "seeds"), [("texts", "56"), ("kb", "2")])
def test_a_short_run_breaks_loosens_and_hides_nothing(what: str, seeds: str) -> None:
    """The long runs are `tools/mutate.py kb` and `tools/mutate.py texts`."""
    done = subprocess.run(
        [sys.executable, str(TOOL), what, "--seeds", seeds],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr + done.stdout


def test_one_job_that_cannot_be_read_keeps_nobody_from_starting(
    tmp_path: Path,
) -> None:
    first = Journal(tmp_path)
    number = first.open_job(AT)
    first.record(number, Job(), (SAMPLES["described"],), AT)
    first.close()
    for job in (2, 3):
        (tmp_path / "jobs" / f"{job}.txt").write_text("no job at all\n")
    journal = Journal(tmp_path)
    entry = journal.latest_open()
    assert entry is not None
    assert entry.number == number
    assert any("job 2" in said for said in journal.remarks)
    assert journal.open_job(AT) == 4


def test_a_line_twice_in_the_ear_deafens_nobody(small: Path, tmp_path: Path) -> None:
    (small / "senses.yaml").unlink()
    ear = small / "stop-rules" / "ear.txt"
    text = ear.read_text()
    ear.write_text(f"{text}{text.splitlines()[-1]}\n")
    assert "no-brakes" in raised(ask(small, tmp_path))


@pytest.mark.parametrize(
    "typed", ["\U00011952\u6dd8x bar", "\u0663\u8eca", "9x9 bar", "1.2.3"]
)
def test_digits_of_other_scripts_leave_no_trace(typed: str, lexicon: Lexicon) -> None:
    assert listen(f"{typed} and a half", lexicon).words
