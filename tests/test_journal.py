"""The journal: on disk before it counts, whole or not at all, damage named."""

import json
import os
import sqlite3
import subprocess
import sys
import zlib
from errno import ENOSPC, EROFS
from hashlib import sha256
from pathlib import Path

import pytest

from bot.job import events as e
from bot.job.hazards import PART_LOST
from bot.job.job import NOT_KNOWN, Job, Stage
from bot.job.moves import WrongStageError
from bot.job.saved import pack
from bot.store.habits import habits, rows_of
from bot.store.journal import Entry, Journal, JournalError, MovedOn
from bot.store.proof import prove
from bot.store.second import BEFORE, Ended, Listed, Second
from tests.seeds import seed

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
    return Journal(tmp_path)


def put(journal: Journal, *events: e.Event, number: int = 0) -> Job:
    """Record events one by one, on a new job where no number is given."""
    entry = journal.entry(number) if number else None
    job = entry.job if entry else Job()
    number = number or journal.open_job(NOW)
    for event in events:
        job = journal.record(number, job, (event,), NOW)
    return job


def kept(journal: Journal, number: int = 1) -> Entry:
    """The job as the disk has it."""
    entry = Journal(journal.home).entry(number)
    assert entry is not None
    return entry


def path_of(journal: Journal, number: int = 1) -> Path:
    return journal.home / "jobs" / f"{number}.txt"


def test_job_is_opened_again_as_it_was_left(journal: Journal) -> None:
    job = put(journal, *CLOSED_JOB[:4])
    assert kept(journal).job == job
    assert kept(journal).whole
    assert Journal(journal.home).remarks == []


def test_a_job_is_plain_lines_an_event_each(journal: Journal) -> None:
    put(journal, *CLOSED_JOB[:2])
    head, first, second, rest = path_of(journal).read_text().split("\n")
    assert head.startswith(f"chock job 1, edition 2, begun {NOW}, mark ")
    assert first.startswith(f"1. {NOW} Described {{")
    assert second.startswith(f'2. {NOW} CardChosen {{"card": "a-card"}} ')
    assert rest == ""


def test_each_line_is_chained_by_the_digest_that_python_has_too(
    journal: Journal,
) -> None:
    """SHA-256 (FIPS 180-4) of the digest before and the line, by `hashlib`."""
    put(journal, *CLOSED_JOB[:4])
    before = ""
    for text in path_of(journal).read_text().splitlines():
        body, digest = text[:-33], text[-32:]
        assert sha256(f"{before}\n{body}".encode()).hexdigest()[:32] == digest
        before = digest


def test_disk_is_told_to_keep_every_commit(journal: Journal) -> None:
    """synchronous=EXTRA (3) without a file beside it: no commit is undone.

    Source: SQLite documentation, PRAGMA synchronous (seen).
    """
    put(journal, CLOSED_JOB[0])
    database = sqlite3.connect(journal.path)
    assert database.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
    database.close()
    second = Second(journal.path)
    assert second._db.execute("PRAGMA synchronous").fetchone()[0] == 3


def test_event_that_cannot_happen_is_not_written(journal: Journal) -> None:
    put(journal, CLOSED_JOB[0])
    with pytest.raises(WrongStageError):
        put(journal, e.CycleClean(), number=1)
    assert kept(journal).job.stage is Stage.NARROW


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
    put(journal, CLOSED_JOB[0])
    entry = journal.latest_open()
    assert entry is not None
    assert entry.number == 2
    assert [row.number for row in journal.listed()] == [2, 1]


def test_job_of_a_newer_edition_is_refused_and_left_alone(journal: Journal) -> None:
    put(journal, CLOSED_JOB[0])
    head = "chock job 1, edition 3, begun -, mark 0123456789abcdef"
    digest = sha256(f"\n{head}".encode()).hexdigest()[:32]
    path_of(journal).write_text(f"{head} {digest}\n")
    with pytest.raises(JournalError, match="newer chock"):
        Journal(journal.home).entry(1)
    assert "edition 3" in path_of(journal).read_text()


def test_folder_that_is_a_file_is_refused_in_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_text("no folder")
    with pytest.raises(JournalError, match="cannot make the folder"):
        Journal(path)


def test_second_copy_that_is_no_database_is_set_aside_and_made_anew(
    journal: Journal,
) -> None:
    job = put(journal, *CLOSED_JOB)
    journal.close()
    journal.path.write_text("not a database, surely, and long enough for one" * 20)
    again = Journal(journal.home)
    assert "kept as jobs-2.db.damaged-1 and was made anew" in again.remarks[0]
    assert len(again.remarks) == 1
    assert kept(again).job == job
    assert [ending.cause for ending in again.endings("a-card")] == ["a-cause"]


@pytest.mark.parametrize("journal_file", ["", "-journal"])
def test_second_copy_that_is_lost_is_made_anew(
    journal: Journal, journal_file: str
) -> None:
    job = put(journal, *CLOSED_JOB)
    journal.close()
    Path(f"{journal.path}{journal_file}").unlink(missing_ok=True)
    again = Journal(journal.home)
    assert kept(again).job == job
    assert [row.number for row in again.listed()] == [1]
    assert [ending.cause for ending in again.endings("a-card")] == ["a-cause"]


def test_file_that_is_lost_is_put_back_from_the_second_copy(journal: Journal) -> None:
    job = put(journal, *CLOSED_JOB[:4])
    before = path_of(journal).read_text()
    path_of(journal).unlink()
    again = Journal(journal.home)
    entry = again.entry(1)
    assert entry is not None
    assert entry.job == job
    assert entry.whole
    assert path_of(journal).read_text() == before
    assert "put right from the second copy" in again.remarks[0]


@pytest.mark.parametrize("cut", [1, 5, 40, 200, 700])
def test_file_that_is_cut_is_put_back_from_the_second_copy(
    journal: Journal, cut: int
) -> None:
    job = put(journal, *CLOSED_JOB[:4])
    data = path_of(journal).read_bytes()
    path_of(journal).write_bytes(data[:-cut])
    assert kept(journal).job == job
    assert path_of(journal).read_bytes() == data


def test_every_flipped_bit_of_a_file_is_noticed_and_put_right(
    journal: Journal,
) -> None:
    job = put(journal, *CLOSED_JOB[:3])
    data = path_of(journal).read_bytes()
    for at in range(0, len(data), 7):
        flipped = bytearray(data)
        flipped[at] ^= 1 << at % 8
        path_of(journal).write_bytes(flipped)
        again = Journal(journal.home)
        entry = again.entry(1)
        assert entry is not None
        assert (entry.job, entry.whole) == (job, True)
        assert again.remarks
        assert path_of(journal).read_bytes() == data
        again.close()


def test_what_both_copies_have_lost_holds_the_truck(journal: Journal) -> None:
    put(journal, *CLOSED_JOB[:4])
    path_of(journal).write_text(path_of(journal).read_text().replace("a-c", "b-c"))
    database = sqlite3.connect(journal.path)
    database.execute("UPDATE line SET text = replace(text, 'a-card', 'c-card')")
    database.commit()
    database.close()
    again = Journal(journal.home)
    entry = again.entry(1)
    assert entry is not None
    assert not entry.whole
    assert PART_LOST in entry.job.stops
    assert "lost from both copies" in again.remarks[0]
    assert not kept(journal).whole  # and for good
    assert list(journal.path.parent.glob("jobs/1.damaged-1"))


def test_half_an_answer_at_the_end_is_no_answer(journal: Journal) -> None:
    job = put(journal, *CLOSED_JOB[:2])
    data = path_of(journal).read_bytes()
    with path_of(journal).open("ab") as file:
        file.write(b"3+ 2026-11-25T10:00:00+00:00 Rep")
    assert kept(journal).job == job
    after = put(Journal(journal.home), CLOSED_JOB[2], number=1)
    assert kept(journal).job == after
    assert path_of(journal).read_bytes().startswith(data)


def test_full_disk_is_said_and_the_job_stays_as_it_was(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = put(journal, CLOSED_JOB[0])
    full = OSError(ENOSPC, os.strerror(ENOSPC))
    real = os.write

    def half(file: int, data: bytes) -> int:
        if len(data) < 50:
            raise full
        return real(file, data[: len(data) // 2])

    monkeypatch.setattr(os, "write", half)
    long = e.Described("x" * 100_000, (), 1.0)
    with pytest.raises(JournalError, match="No space left"):
        journal.record(1, job, (long,), NOW)
    monkeypatch.undo()
    assert kept(journal).job == job
    after = journal.record(1, job, (CLOSED_JOB[1],), NOW)
    assert kept(journal).job == after


def test_second_copy_that_cannot_be_written_costs_nothing(journal: Journal) -> None:
    job = put(journal, CLOSED_JOB[0])
    database = journal.copies.second
    assert database is not None
    pages = database._db.execute("PRAGMA page_count").fetchone()[0]
    database._db.execute(f"PRAGMA max_page_count = {pages}")
    after = journal.record(1, job, (e.Described("x" * 100_000, (), 1.0),), NOW)
    assert "second copy of the jobs was not written" in journal.remarks[0]
    assert kept(journal).job == after


def test_read_only_store_is_read(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a disk that is read-only for everybody, root too."""
    job = put(journal, CLOSED_JOB[0])
    journal.close()
    real = os.open

    def no_writing(path: str, flags: int, mode: int = 0o777) -> int:
        if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            raise OSError(EROFS, os.strerror(EROFS))
        return real(path, flags, mode)

    monkeypatch.setattr(os, "open", no_writing)
    again = Journal(journal.home)
    entry = again.entry(1)
    assert entry is not None
    assert entry.job == job
    with pytest.raises(JournalError, match="Read-only"):
        again.open_job(NOW)
    with pytest.raises(JournalError, match="Read-only"):
        again.record(1, job, (CLOSED_JOB[1],), NOW)


WINDOW = """
import sys
from pathlib import Path
from bot.job import events as e
from bot.job.job import Job
from bot.store.journal import Journal, MovedOn
journal = Journal(Path(sys.argv[1]))
number, name = int(sys.argv[2]), sys.argv[3]
job = Job()
if not number:
    number = journal.open_job("now")
for n in range(60):
    words = e.Described(f"{name}{n}", (), 1.0)
    while True:
        try:
            job = journal.record(number, job, (words,), "now")
            break
        except MovedOn:
            entry = journal.entry(number)
            job = entry.job if entry else Job()
print(number)
"""


def windows(home: Path, number: int) -> list[int]:
    """Two processes that record sixty answers each; the jobs they wrote in."""
    command = [sys.executable, "-c", WINDOW, str(home), str(number)]
    runs = [
        subprocess.Popen([*command, name], stdout=subprocess.PIPE, text=True)
        for name in "ab"
    ]
    told = [run.communicate(timeout=120)[0] for run in runs]
    assert [run.returncode for run in runs] == [0, 0]
    return [int(each) for each in told]


def test_two_windows_have_two_jobs(tmp_path: Path) -> None:
    """Both begin at once; each answer is in the job of its own window."""
    numbers = windows(tmp_path, 0)
    assert sorted(numbers) == [1, 2]
    for name, number in zip("ab", numbers, strict=True):
        entry = Journal(tmp_path).entry(number)
        assert entry is not None
        assert entry.job.words == tuple(f"{name}{n}" for n in range(60))


def test_two_windows_on_one_job_lose_nothing(tmp_path: Path) -> None:
    """Each is told when the other wrote; both orders are kept, nothing twice."""
    Journal(tmp_path).open_job(NOW)
    windows(tmp_path, 1)
    journal = Journal(tmp_path)
    entry = journal.entry(1)
    assert entry is not None
    assert journal.remarks == []
    for name in "ab":
        mine = [words for words in entry.job.words if words[0] == name]
        assert mine == [f"{name}{n}" for n in range(60)]


def test_a_window_that_does_not_know_the_end_writes_nothing(journal: Journal) -> None:
    job = put(journal, CLOSED_JOB[0])
    put(Journal(journal.home), CLOSED_JOB[1], number=1)
    with pytest.raises(MovedOn, match="goes on in another window"):
        journal.record(1, job, (e.NothingFitted(),), NOW)
    assert kept(journal).job.card == "a-card"


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
    put(journal, *CLOSED_JOB[:2], e.HelpCalled(), helped)
    unknown = e.Recorded(NOT_KNOWN, "", False, False, 60.0, 0.0)
    put(journal, *CLOSED_JOB[:-1], unknown)
    ended = journal.endings("a-card")
    assert [(ending.cause, ending.proved) for ending in ended] == [
        ("a-cause", False),
        (NOT_KNOWN, False),
        (NOT_KNOWN, False),
    ]


def test_habits_without_a_journal_are_none(tmp_path: Path) -> None:
    assert habits(str(tmp_path / "none.db"), 22) == {}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork, which Windows lacks")
def test_kill_at_eight_points_of_a_job_loses_no_acknowledged_answer(
    tmp_path: Path,
) -> None:
    figures = tmp_path / "figures.json"
    tool = ROOT / "tools" / "killtest.py"
    command = [sys.executable, str(tool), "--points", "8", "--json", str(figures)]
    command += ["--index", str(seed(tmp_path / "index"))]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    found = json.loads(figures.read_text())
    assert found["points"] == 8
    assert found["lost"] == 0


def test_closed_job_can_be_put_right_and_opened_again(journal: Journal) -> None:
    put(journal, *CLOSED_JOB)
    entry = journal.entry(1)
    assert entry is not None
    better = journal.record(1, entry.job, (e.CauseNamed("b-cause"),), "later")
    assert [ending.cause for ending in journal.endings("a-card")] == ["b-cause"]
    again = journal.record(1, better, (e.CameBack(),), "later-still")
    assert journal.endings("a-card") == ()
    assert [row.number for row in journal.listed(only_open=True)] == [1]
    assert again.stage is Stage.CHECK
    assert again.failed[-1].repair == "a-repair"


def of_the_edition_before(home: Path) -> None:
    """The second copy as the chock before wrote it: its outcomes kept no words."""
    database = sqlite3.connect(home / "jobs-2.db")
    for column in ("words", "keeps"):
        database.execute(f"ALTER TABLE outcome DROP COLUMN {column}")
    database.execute(f"PRAGMA user_version = {BEFORE}")
    database.commit()
    database.close()


def test_second_copy_of_the_edition_before_is_taken_over(journal: Journal) -> None:
    put(journal, *CLOSED_JOB)
    put(journal, e.Described("squeal", (), 1.0))
    journal.close()
    of_the_edition_before(journal.home)
    again = Journal(journal.home)
    assert again.remarks == []
    assert [(end.cause, end.words) for end in again.endings("a-card")] == [
        ("a-cause", "hiss")
    ]
    assert [row.number for row in again.listed()] == [2, 1]
    assert list(prove(again.copies).wrong) == []


def test_second_copy_of_the_edition_before_still_mends_a_file(journal: Journal) -> None:
    put(journal, *CLOSED_JOB)
    journal.close()
    of_the_edition_before(journal.home)
    path = path_of(journal)
    path.write_bytes(path.read_bytes()[:-90])
    again = Journal(journal.home)
    assert any("Job 1" in says for says in again.remarks)
    assert kept(again).whole
    assert kept(again).job.outcome is not None


FIRST_EDITION = """
CREATE TABLE event (
    job INTEGER NOT NULL, seq INTEGER NOT NULL, at TEXT NOT NULL, kind TEXT NOT NULL,
    said TEXT NOT NULL, crc INTEGER NOT NULL, PRIMARY KEY (job, seq)
) WITHOUT ROWID;
PRAGMA user_version = 1;
"""


def first_edition(home: Path, *jobs: tuple[e.Event, ...], damaged: int = 0) -> None:
    """The database that an earlier chock wrote, one row of each job damaged."""
    database = sqlite3.connect(home / "journal.db")
    database.execute("PRAGMA journal_mode=WAL")
    database.executescript(FIRST_EDITION)
    for number, events in enumerate(jobs, 1):
        for seq, event in enumerate(events, 1):
            kind, said = pack(event)
            text = json.dumps(said, ensure_ascii=True, sort_keys=True)
            crc = zlib.crc32(f"{number}\n{seq}\n{NOW}\n{kind}\n{text}".encode())
            row = (number, seq, NOW, kind, text, crc + (seq == damaged))
            database.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)
    database.commit()
    database.close()


def test_jobs_of_the_first_edition_move_over_once(tmp_path: Path) -> None:
    first_edition(tmp_path, CLOSED_JOB, CLOSED_JOB[:3])
    journal = Journal(tmp_path)
    assert journal.remarks == ["2 jobs of an earlier chock were taken over."]
    assert [row.number for row in journal.listed()] == [2, 1]
    assert [row.number for row in journal.listed(only_open=True)] == [2]
    assert [ending.cause for ending in journal.endings("a-card")] == ["a-cause"]
    assert kept(journal, 2).job.stage is Stage.REPAIR
    assert Journal(tmp_path).remarks == []
    assert (tmp_path / "journal-1.db").exists()


def test_a_damaged_row_of_the_first_edition_costs_itself_alone(tmp_path: Path) -> None:
    words = [e.Described(f"word {n}", (), 1.0) for n in range(5)]
    first_edition(tmp_path, tuple(words), damaged=3)
    entry = kept(Journal(tmp_path))
    assert entry.job.words == ("word 0", "word 1", "word 3", "word 4")
    assert not entry.whole
    assert PART_LOST in entry.job.stops


def test_a_first_edition_that_cannot_be_read_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "journal.db").write_text("no database at all, and long enough" * 99)
    journal = Journal(tmp_path)
    assert "is left as it is" in journal.remarks[0]
    put(journal, CLOSED_JOB[0])
    assert kept(journal).job.words == ("hiss",)


def test_score_of_a_card_is_what_its_outcomes_add_up_to(tmp_path: Path) -> None:
    """Added up step by step, and anew where the sum was damaged."""
    second = Second(tmp_path / "jobs-2.db")

    def end(job: int, card: str, *, proved: bool) -> None:
        listed = Listed(job, "a", "b", "closed", card, "w", proved, False, 0.0, 1)
        second.look_up(
            listed,
            Ended(job, "b", card, "x", proved, False, "a", "", "", 1.0, 0.0),
        )

    def scores() -> dict[str, float]:
        rows = rows_of(str(second.path), "SELECT card, weight FROM score")
        return {card: weight for card, weight in rows if weight}

    end(1, "belt", proved=True)
    end(2, "belt", proved=False)
    end(3, "hub", proved=True)
    assert scores() == {"belt": 1.5, "hub": 1.0}
    end(2, "belt", proved=True)
    assert scores() == {"belt": 2.0, "hub": 1.0}
    end(3, "belt", proved=True)
    assert scores() == {"belt": 3.0}
    with sqlite3.connect(second.path) as damaged:
        damaged.execute("UPDATE score SET weight = 99 WHERE card = 'belt'")
    end(2, "belt", proved=False)
    assert scores() == {"belt": 2.5}
    second.close()


@pytest.mark.parametrize("left", [0, 2946, 4096, -4096, -1])
def test_second_copy_cut_under_an_open_window_is_whole_at_the_next_answer(
    journal: Journal, left: int
) -> None:
    """Then the file may go, too: in one copy all is there, and it is said."""
    job = put(journal, *CLOSED_JOB[:4])
    put(journal, e.Described("squeal", (), 1.0))
    second = journal.home / "jobs-2.db"
    second.write_bytes(second.read_bytes()[:left])
    job = journal.record(1, job, (CLOSED_JOB[4],), NOW)
    assert any("made anew" in says for says in journal.remarks)
    for path in (journal.home / "jobs").glob("*.txt"):
        path.unlink()
    again = Journal(journal.home)
    assert [row.number for row in again.listed()] == [2, 1]
    assert kept(again).job == job
    assert kept(again).whole


def test_a_job_without_a_file_is_salvaged_from_a_damaged_second_copy(
    tmp_path: Path,
) -> None:
    """What can be proved is there, and the truck is held for what may be lost."""
    journal = Journal(tmp_path)
    job = Job()
    number = journal.open_job(NOW)
    for n in range(40):
        job = journal.record(
            number, job, (e.Described(f"word {n} {'x' * 300}", (), 1.0),), NOW
        )
    put(journal, e.Described("squeal", (), 1.0))
    journal.close()
    second = tmp_path / "jobs-2.db"
    data = second.read_bytes()
    second.write_bytes(data[: len(data) * 19 // 20])
    path_of(journal).unlink()
    again = Journal(tmp_path)
    entry = again.entry(number)
    assert entry is not None
    assert any("lost from both copies" in says for says in again.remarks)
    assert PART_LOST in entry.job.stops
    assert 0 < len(entry.job.words) <= 40
    assert entry.job.words == job.words[: len(entry.job.words)]
    assert kept(again, 2).whole


def test_both_copies_gone_is_said(journal: Journal) -> None:
    put(journal, *CLOSED_JOB[:2])
    journal.close()
    path_of(journal).unlink()
    (journal.home / "jobs-2.db").unlink()
    assert any("neither their files" in says for says in Journal(journal.home).remarks)
    assert Journal(journal.home).remarks == []
