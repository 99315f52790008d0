"""The journal: on disk before it counts, whole or not at all, damage named."""

import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job, Stage
from bot.job.moves import WrongStageError
from bot.store.habits import habits
from bot.store.journal import Journal, JournalError

NOW = "2026-11-25T10:00:00+00:00"
ROOT = Path(__file__).parent.parent
CLOSED_JOB = (
    e.Described("hiss", (("a-card", 0.9),), 0.1),
    e.CardChosen("a-card"),
    e.RepairProposed("a-repair"),
    e.RepairDone("a-repair"),
    e.ShowedBefore(1, 1),
    e.CycleClean(),
    e.ProofEnded(),
    e.CauseNamed("a-cause"),
    e.Recorded("a-cause", "a-repair", True, False, 60.0, 0.0),
)


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal(tmp_path / "journal.db")


def put(journal: Journal, *events: e.Event, number: int = 1) -> Job:
    entry = journal.entry(number)
    job = entry.job if entry else Job()
    for event in events:
        job = journal.record(number, job, (event,), NOW)
    return job


def test_job_is_opened_again_as_it_was_left(journal: Journal) -> None:
    job = put(journal, *CLOSED_JOB[:4])
    again = Journal(journal.path).entry(1)
    assert again is not None
    assert again.job == job
    assert again.whole


def test_disk_is_told_to_keep_every_commit(journal: Journal) -> None:
    """WAL with synchronous=FULL (2): a power cut undoes no acknowledged commit.

    Source: SQLite documentation, PRAGMA synchronous (seen).
    """
    mode = journal._db.execute("PRAGMA journal_mode").fetchone()[0]
    level = journal._db.execute("PRAGMA synchronous").fetchone()[0]
    assert (mode, level) == ("wal", 2)


def test_event_that_cannot_happen_is_not_written(journal: Journal) -> None:
    put(journal, CLOSED_JOB[0])
    with pytest.raises(WrongStageError):
        put(journal, e.CycleClean())
    entry = journal.entry(1)
    assert entry is not None
    assert entry.job.stage is Stage.NARROW


def test_events_of_one_answer_are_written_together_or_not_at_all(
    journal: Journal,
) -> None:
    job = put(journal, CLOSED_JOB[0])
    with pytest.raises(WrongStageError):
        journal.record(1, job, (e.CardChosen("a"), e.CycleClean()), NOW)
    entry = journal.entry(1)
    assert entry is not None
    assert entry.job == job


def test_newest_open_job_is_offered_and_closed_ones_are_not(journal: Journal) -> None:
    put(journal, *CLOSED_JOB)
    assert journal.latest_open() is None
    put(journal, CLOSED_JOB[0], number=journal.open_job())
    entry = journal.latest_open()
    assert entry is not None
    assert entry.number == 2


def test_every_changed_byte_in_a_row_is_noticed(journal: Journal) -> None:
    put(journal, *CLOSED_JOB[:4])
    raw = sqlite3.connect(journal.path)
    raw.execute(
        "UPDATE event SET said = replace(said, 'a-card', 'b-card') WHERE seq = 2"
    )
    raw.commit()
    raw.close()
    entry = journal.entry(1)
    assert entry is not None
    assert not entry.whole
    assert entry.job.stage is Stage.NARROW  # as before the damaged row


def test_journal_of_a_newer_version_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    Journal(path).close()
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA user_version = 99")
    raw.close()
    with pytest.raises(JournalError, match="newer chock"):
        Journal(path)


def test_file_that_is_no_journal_is_refused_in_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    path.write_text("not a database, surely, and long enough to be read as one" * 20)
    with pytest.raises(JournalError, match="cannot open the journal"):
        Journal(path)


def test_full_disk_is_said_and_the_job_stays_as_it_was(journal: Journal) -> None:
    job = put(journal, CLOSED_JOB[0])
    pages = journal._db.execute("PRAGMA page_count").fetchone()[0]
    journal._db.execute(f"PRAGMA max_page_count = {pages}")
    long = e.Described("x" * 100_000, (), 1.0)
    with pytest.raises(JournalError, match="not saved"):
        journal.record(1, job, (long,), NOW)
    entry = journal.entry(1)
    assert entry is not None
    assert entry.job == job


def test_two_windows_lose_nothing(tmp_path: Path) -> None:
    """Both write at once; every answer of both is there at the end."""
    path = tmp_path / "journal.db"
    Journal(path).close()
    code = """
import sys
from pathlib import Path
from bot.job import events as e
from bot.job.job import Job
from bot.store.journal import Journal
journal = Journal(Path(sys.argv[1]))
number = int(sys.argv[2])
job = journal.record(number, Job(), (e.Described("x", (), 1.0),), "now")
for _ in range(100):
    job = journal.record(number, job, (e.Described("y", (), 1.0),), "now")
"""
    runs = [
        subprocess.Popen([sys.executable, "-c", code, str(path), str(n)])
        for n in (1, 2)
    ]
    assert [run.wait(60) for run in runs] == [0, 0]
    journal = Journal(path)
    for number in (1, 2):
        entry = journal.entry(number)
        assert entry is not None
        assert len(entry.job.words) == 101


def test_outcomes_count_at_once(journal: Journal) -> None:
    assert journal.endings("a-card") == ()
    put(journal, *CLOSED_JOB)
    (ending,) = journal.endings("a-card")
    assert (ending.cause, ending.proved) == ("a-cause", True)
    share = (10 / 22 + 1) / 11  # Dirichlet, equal shares of 22 cards, s = 10
    lift = (share - 1 / 22) / (1 - 1 / 22)
    assert habits(str(journal.path), 22) == {"a-card": pytest.approx(lift)}


def test_unproved_outcome_is_kept_as_such_and_help_without_cause_as_not_known(
    journal: Journal,
) -> None:
    unproved = e.Recorded("a-cause", "a-repair", False, False, 60.0, 0.0)
    put(journal, *CLOSED_JOB[:-1], unproved)
    helped = e.Recorded("", "", False, True, 60.0, 0.0)
    put(journal, *CLOSED_JOB[:2], e.HelpCalled(), helped, number=2)
    unknown = e.Recorded(NOT_KNOWN, "", False, False, 60.0, 0.0)
    put(journal, *CLOSED_JOB[:-1], unknown, number=3)
    ended = journal.endings("a-card")
    assert [(ending.cause, ending.proved) for ending in ended] == [
        ("a-cause", False),
        (NOT_KNOWN, False),
        (NOT_KNOWN, False),
    ]


def test_habits_without_a_journal_are_none(tmp_path: Path) -> None:
    assert habits(str(tmp_path / "none.db"), 22) == {}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork, which Windows lacks")
def test_kill_at_twenty_points_of_a_job_loses_no_acknowledged_answer(
    tmp_path: Path,
) -> None:
    figures = tmp_path / "figures.json"
    tool = ROOT / "tools" / "killtest.py"
    command = [sys.executable, str(tool), "--points", "20", "--json", str(figures)]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    found = json.loads(figures.read_text())
    assert found["points"] == 20
    assert found["lost"] == 0


def test_closed_job_can_be_put_right_and_opened_again(journal: Journal) -> None:
    put(journal, *CLOSED_JOB)
    entry = journal.entry(1)
    assert entry is not None
    better = journal.record(1, entry.job, (e.CauseNamed("b-cause"),), "later")
    assert [ending.cause for ending in journal.endings("a-card")] == ["b-cause"]
    again = journal.record(1, better, (e.CameBack(),), "later still")
    assert journal.endings("a-card") == ()
    assert [open_.number for open_ in journal.open_entries()] == [1]
    assert again.stage is Stage.CHECK
    assert again.failed[-1].repair == "a-repair"
