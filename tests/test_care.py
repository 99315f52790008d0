"""Looking after the jobs: check proves, mend puts right, backups come back."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from bot.cli.main import main
from bot.job import events as e
from bot.job.job import Job
from bot.model.place import BotError
from bot.store.backup import KEPT, back_up, restore
from bot.store.chain import best, parsed, read_head, read_line, write_head, write_line
from bot.store.journal import Journal, JournalError
from bot.store.proof import prove
from tests.seeds import seed

NOW = "2026-11-25T10:00:00+00:00"
MARK = "0123456789abcdef"


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    """A store with three jobs of four answers each."""
    journal = Journal(tmp_path / "store")
    for job in range(3):
        write(journal, journal.open_job(NOW), f"job {job}")
    return journal


def write(journal: Journal, number: int, words: str) -> None:
    entry = journal.entry(number)
    job = entry.job if entry else Job()
    for n in range(4):
        said = e.Described(f"{words} {n}", (), 1.0)
        job = journal.record(number, job, (said, said), NOW)


def words_of(journal: Journal, number: int) -> tuple[str, ...]:
    entry = Journal(journal.home).entry(number)
    return entry.job.words if entry else ()


def file_of(journal: Journal, number: int) -> Path:
    return journal.home / "jobs" / f"{number}.txt"


def chained(*said: str) -> list[str]:
    texts = [write_head(7, NOW, MARK)]
    for seq, each in enumerate(said, 1):
        line = parsed(f'{seq}. {NOW} Told {{"w": "{each}"}} {"0" * 32}')
        assert line is not None
        texts.append(write_line(texts[-1][-32:], line))
    return texts


def test_a_line_follows_its_own_chain_alone() -> None:
    one, other = chained("a", "b"), chained("x", "b")
    assert read_line(one[2], one[1][-32:])
    assert read_line(one[2], other[1][-32:]) is None
    assert read_head(one[0])
    assert read_head(one[0].replace("job 7", "job 8")) is None


@pytest.mark.parametrize("lost", range(1, 5))
def test_a_line_that_both_copies_lost_costs_itself_alone(lost: int) -> None:
    texts = chained("a", "b", "c", "d")
    bad = [t.replace("Told", "Tolx") if n == lost else t for n, t in enumerate(texts)]
    found = best(7, bad, bad)
    assert found is not None
    assert found.lost == 1
    assert [line.seq for line in found.lines] == [n for n in range(1, 5) if n != lost]
    assert found.gaps == (lost - 1,)


def test_a_last_line_that_the_only_copy_has_damaged_is_lost_and_not_forgotten() -> None:
    texts = chained("a", "b")
    bad = [*texts[:2], texts[2].replace("Told", "Tolx")]
    found = best(7, bad, texts[:1])
    assert found is not None
    assert (found.lost, len(found.lines)) == (1, 1)


def test_each_line_is_taken_from_the_copy_that_has_it() -> None:
    texts = chained("a", "b", "c", "d")
    first = [t for n, t in enumerate(texts) if n != 2]
    second = [t.replace("Told", "T") if n in (1, 3) else t for n, t in enumerate(texts)]
    found = best(7, first, second)
    assert found is not None
    assert found.texts == tuple(texts)
    assert (found.mended, found.spare, found.lost) == (1, 2, 0)


@pytest.mark.parametrize("number", ["6", "9", "1"])
def test_a_damaged_number_makes_no_line_that_never_was(number: str) -> None:
    texts = chained("a", "b", "c", "d")
    for nth in range(1, 5):
        bad = list(texts)
        bad[nth] = bad[nth].replace(f"{nth}. ", f"{number}. ", 1)
        found = best(7, bad, texts)
        assert found is not None
        assert (found.texts, found.lost) == (tuple(texts), 0)


def test_lines_of_another_job_are_none_of_ours() -> None:
    assert best(8, chained("a"), []) is None


def test_check_proves_a_whole_store(
    journal: Journal, capsys: pytest.CaptureFixture[str]
) -> None:
    home = str(journal.home)
    assert main(["--home", home, "jobs", "check"]) == 0
    assert "Jobs: 3, lines: 24. Each is whole" in capsys.readouterr().out
    assert main(["--home", home, "jobs", "check", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"jobs": 3, "lines": 24, "wrong": []}


def test_check_changes_nothing_and_mend_says_what_it_did(
    journal: Journal, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_of(journal, 2)
    good = path.read_bytes()
    bad = good.replace(b"job 1 2", b"job 9 2")
    path.write_bytes(bad)
    home = str(journal.home)
    assert main(["--home", home, "jobs", "check"]) == 1
    assert (
        "Job 2: 2 lines are damaged or missing in its file." in capsys.readouterr().out
    )
    assert path.read_bytes() == bad
    assert main(["--home", home, "jobs", "mend"]) == 0
    shown = capsys.readouterr().out
    assert "put right from the second copy." in shown
    assert "Each is whole" in shown
    assert path.read_bytes() == good
    assert (journal.home / "jobs" / "2.damaged-1").read_bytes() == bad


def test_mend_without_anything_to_mend_says_so(
    journal: Journal, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--home", str(journal.home), "jobs", "mend"]) == 0
    assert capsys.readouterr().out.startswith("There was nothing to mend.")


def test_every_flipped_bit_of_the_second_copy_is_noticed_or_touches_nothing(
    journal: Journal, tmp_path: Path
) -> None:
    """The database is cut into bytes that matter and such that nobody ever reads."""
    journal.close()
    whole = journal.path.read_bytes()
    listed = Journal(journal.home).listed()
    for at in range(0, len(whole), 97):
        flipped = bytearray(whole)
        flipped[at] ^= 1 << at % 8
        journal.path.write_bytes(flipped)
        again = Journal(journal.home)
        told = again.listed()
        assert all(words_of(again, n)[-1].endswith("3") for n in (1, 2, 3))
        assert told == listed
        again.mend()
        assert prove(again.copies).wrong == ()
        again.close()
        for path in journal.home.glob("jobs-2.db*"):
            path.unlink()


def test_what_is_looked_up_wrong_is_looked_up_anew(journal: Journal) -> None:
    right = journal.listed()
    database = sqlite3.connect(journal.path)
    database.execute("UPDATE listed SET told = replace(told, 'job 1 0', 'job 8 0')")
    database.commit()
    database.close()
    assert prove(journal.copies).wrong == ("What is looked up of the jobs is damaged.",)
    again = Journal(journal.home)
    assert again.listed() == right
    assert prove(again.copies).wrong == ()


def test_a_job_that_the_second_copy_does_not_know_is_taken_in(
    journal: Journal, tmp_path: Path
) -> None:
    """A second copy from an earlier day beside files that went on."""
    shutil.copyfile(journal.path, tmp_path / "earlier.db")
    write(journal, journal.open_job(NOW), "newest")
    write(journal, 3, "more")
    journal.close()
    shutil.copyfile(tmp_path / "earlier.db", journal.path)
    again = Journal(journal.home)
    assert [row.number for row in again.listed()] == [4, 3, 2, 1]
    assert words_of(again, 3)[-1] == "more 3"
    again.mend()
    assert prove(again.copies).wrong == ()


def test_a_backup_brings_lost_jobs_back(journal: Journal, tmp_path: Path) -> None:
    path = back_up(journal.copies, tmp_path / "stick", NOW)
    other = Journal(tmp_path / "other")
    assert len(list(restore(other.copies, path))) == 3
    other.mend()
    assert words_of(other, 2) == words_of(journal, 2)
    assert prove(other.copies).wrong == ()
    assert list(restore(other.copies, path)) == []


def test_a_backup_undoes_no_answer(journal: Journal, tmp_path: Path) -> None:
    path = back_up(journal.copies, tmp_path / "stick", NOW)
    write(journal, 1, "later")
    assert list(restore(journal.copies, path)) == []
    assert words_of(journal, 1)[-1] == "later 3"


def test_a_job_that_went_on_otherwise_is_kept_beside(
    journal: Journal, tmp_path: Path
) -> None:
    path = back_up(journal.copies, tmp_path / "stick", NOW)
    other = Journal(tmp_path / "other")
    write(other, other.open_job(NOW), "quite another job")
    told = list(restore(other.copies, path))
    assert told[0] == "Job 1 went on otherwise here; the backup's is kept as 1.other-1."
    assert words_of(other, 1)[0] == "quite another job 0"


def test_old_backups_go_and_other_files_stay(journal: Journal, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    (stick / "letter.zip").write_text("mine")
    for day in range(10, 18):
        back_up(journal.copies, stick, f"2026-11-{day}T10:00:00+00:00")
    names = sorted(path.name for path in stick.iterdir())
    assert len(names) == KEPT + 1
    assert names[0] == "chock-jobs-20261113T100000.zip"
    assert names[-1] == "letter.zip"


def test_what_is_no_backup_is_refused_in_one_sentence(
    journal: Journal, tmp_path: Path
) -> None:
    path = tmp_path / "no.zip"
    path.write_text("no zip")
    with pytest.raises(JournalError, match="cannot read the backup"):
        list(restore(journal.copies, path))
    with pytest.raises(JournalError, match="no backup in"):
        back_up(journal.copies, path, NOW)


def test_a_second_window_looks_on_until_it_takes_over(
    tmp_path: Path, kb: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In two processes: the first one holds the job, the second is told."""
    from tests.windows import Window

    home = seed(tmp_path / "store")
    first = Window(home)
    first.say("one hub hisses after I park")
    first.say("1")
    second = Window(home)
    assert "Another window works on this job" in second.shown
    assert "nothing typed here is noted" in second.say("5")
    assert "It goes on in this window now" in second.say("take over")
    second.say("5")
    assert "went on in another window" in first.say("1")
    first.end()
    second.end()
    journal = Journal(home)
    entry = journal.entry(1)
    assert entry is not None
    assert len(entry.job.answers) == 1
    assert prove(journal.copies).wrong == ()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork, which Windows lacks")
def test_a_short_soak_loses_loosens_and_hides_nothing(tmp_path: Path) -> None:
    """Two of each fault or so; the long run is `tools/soak.py faults`."""
    figures = tmp_path / "figures.json"
    tool = Path(__file__).parent.parent / "tools" / "soak.py"
    command = [sys.executable, str(tool), "faults", "--seeds", "25"]
    command += ["--first", "900000", "--json", str(figures)]
    command += ["--index", str(seed(tmp_path / "index"))]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    found = json.loads(figures.read_text())
    names = ("seeds", "lost", "looser", "silent", "traces")
    assert [found[name] for name in names] == [25, 0, 0, 0, 0]


def test_wrong_words_for_jobs_are_one_sentence() -> None:
    with pytest.raises(BotError, match="is no job; write its number, or one of check"):
        main_raising("jobs", "frobnicate")


def main_raising(*words: str) -> None:
    from argparse import Namespace

    from bot.cli.jobs import jobs

    jobs(Namespace(home=None, what=words[1], where="", json=False))


def test_store_is_for_its_owner_alone(tmp_path: Path) -> None:
    if os.name == "nt":
        pytest.skip("Windows keeps rights otherwise")
    journal = Journal(tmp_path / "store")
    write(journal, journal.open_job(NOW), "x")
    modes = [
        path.stat().st_mode & 0o077 for path in (journal.home, file_of(journal, 1))
    ]
    assert modes == [0, 0]


def keeping(journal: Journal, words: str) -> int:
    """A closed job whose words are kept."""
    number = journal.open_job(NOW)
    events = (
        e.Described(words, (), 1.0),
        e.CardChosen("a-card"),
        e.HelpCalled(),
        e.CauseNamed("a-cause"),
        e.WordsKept(),
        e.Recorded("a-cause", "", True, False, 1.0, 0.0),
    )
    journal.record(number, Job(), events, NOW)
    return number


def test_kept_words_are_listed_and_forgotten(
    journal: Journal, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs = ["--home", str(journal.home), "jobs"]
    assert main([*jobs, "words"]) == 0
    assert "No words are kept" in capsys.readouterr().out
    number = keeping(journal, "it flumps")
    assert main([*jobs, "words"]) == 0
    assert f"{number}  a-card: it flumps\n" in capsys.readouterr().out
    assert main([*jobs, "words", "--json"]) == 0
    kept = json.loads(capsys.readouterr().out)["kept"]
    assert kept == [{"job": number, "page": "a-card", "words": "it flumps"}]
    assert main([*jobs, "forget", str(number)]) == 0
    assert main([*jobs, "words"]) == 0
    out = capsys.readouterr().out
    assert "find no page any longer" in out
    assert "No words are kept" in out
    assert words_of(journal, number) == ("it flumps",)


@pytest.mark.parametrize(
    ("which", "says"),
    [
        ("", "say which job"),
        ("x", "say which job"),
        ("1", "no words of job 1 are kept"),
        ("99", "there is no job 99"),
    ],
)
def test_forgetting_what_is_not_kept_is_refused_in_one_line(
    journal: Journal, capsys: pytest.CaptureFixture[str], which: str, says: str
) -> None:
    assert main(["--home", str(journal.home), "jobs", "forget", which]) == 1
    err = capsys.readouterr().err
    assert says in err
    assert err.count("\n") == 1


def test_words_of_a_job_in_another_window_are_left_alone(
    journal: Journal, capsys: pytest.CaptureFixture[str]
) -> None:
    number = keeping(journal, "it flumps")
    assert journal.take(number)
    other = [sys.executable, "-m", "bot.cli", "--home", str(journal.home), "jobs"]
    done = subprocess.run([*other, "forget", str(number)], capture_output=True)
    assert done.returncode == 1
    assert b"another window" in done.stderr
    assert [kept.job for kept in journal.keeping()] == [number]
