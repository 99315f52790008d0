"""A job being saved while something goes wrong: what `tools/soak.py` does to it."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
from contextlib import suppress
from errno import ENOSPC, EROFS
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.job import events as e
from bot.job.job import Job
from bot.job.moves import WrongStageError, advance
from bot.job.saved import unpack
from bot.store.chain import parsed
from bot.store.journal import Journal, JournalError, MovedOn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

NOW = "2026-11-25T10:00:00+00:00"
STORIES = ROOT / "tests" / "stories"

Group = tuple[e.Event, ...]
"""The events of one answer."""


def scripts(kb: str, home: Path) -> list[list[Group]]:
    """The answers of each story, as they were saved on the real pages."""
    found = []
    library = KbLibrary(kb, str(home), Journal(home / "none"))
    for number, path in enumerate(sorted(STORIES.glob("*.txt"))):
        journal = Journal(home / f"story-{number}")
        talk = Conversation(library, journal, lambda: NOW)
        talk.open()
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("> ") and not talk.is_over:
                talk.hear(line[2:])
        journal.close()
        file = journal.home / "jobs" / "1.txt"
        if file.exists():
            found.append(list(_groups(file.read_text(encoding="ascii"))))
    return found


def _groups(text: str) -> Iterator[Group]:
    held: list[e.Event] = []
    for row in text.splitlines():
        line = parsed(row)
        if line:
            held.append(unpack(line.kind, json.loads(line.said)))
            if line.ends:
                yield tuple(held)
                held = []


class Run:
    """A job being saved, answer by answer, while something goes wrong."""

    def __init__(self, home: Path, script: list[Group], lots: random.Random) -> None:
        self.home = home
        self.script = script
        self.lots = lots
        self.journal = Journal(home)
        self.number = 0
        self.job = Job()
        self.waiting: list[tuple[Job, Group]] = []
        self.told: list[str] = []
        self.at = NOW
        self.is_behind = False  # another window went on with the job
        self.lost = 0

    def answer(self, group: Group) -> None:
        """What the conversation does with an answer."""
        after = reduce(advance, group, self.job)
        self.waiting.append((self.job, group))
        self.job = after
        with suppress(JournalError):
            self.save()

    def save(self) -> None:
        """Save what waits."""
        try:
            while self.waiting:
                job, group = self.waiting[0]
                self.number = self.number or self.journal.open_job(self.at)
                self.journal.record(self.number, job, group, self.at)
                del self.waiting[0]
        except MovedOn as error:
            self.told.append(f"{error}")
            self.waiting.clear()
            entry = self.journal.entry(self.number)
            self.job = entry.job if entry else Job()
            self.is_behind = False
            raise
        except JournalError as error:
            self.told.append(f"NOT SAVED ({error})")
            raise

    def reopen(self) -> None:
        """Another start of the program; what could not be saved till now is saved."""
        with suppress(JournalError):
            self.save()
        self.told += self.journal.remarks
        self.journal.close()
        self.journal = Journal(self.home)
        entry = None
        try:
            entry = self.journal.entry(self.number) if self.number else None
        except JournalError as error:
            self.told.append(f"{error}")
        self.told += self.journal.remarks
        self.journal.remarks.clear()
        if not self.waiting:
            kept = entry.job if entry else Job()
            self.lost += kept != self.job and not self.is_behind
            self.job, self.is_behind = kept, False

    def files(self) -> list[Path]:
        """What can be damaged, cut or lost."""
        found = [*self.home.glob("jobs-2.db"), *self.home.glob("jobs/*.txt")]
        return sorted(found)


def flip(run: Run) -> None:
    """One bit of one file."""
    path = run.lots.choice(run.files())
    data = bytearray(path.read_bytes())
    if data:
        data[run.lots.randrange(len(data))] ^= 1 << run.lots.randrange(8)
        path.write_bytes(data)


def cut(run: Run) -> None:
    """One file is shorter."""
    path = run.lots.choice(run.files())
    data = path.read_bytes()
    path.write_bytes(data[: run.lots.randrange(len(data) + 1)])


def lose(run: Run) -> None:
    """One file is gone."""
    run.lots.choice(run.files()).unlink()


def earlier(run: Run) -> None:
    """The second copy is one of an earlier moment."""
    kept = run.home / "kept.db"
    if kept.exists():
        shutil.copyfile(kept, run.home / "jobs-2.db")


def full(run: Run) -> None:
    """For some answers the disk takes half a line, or nothing."""
    left = run.lots.randrange(60)
    real = os.write

    def write(file: int, data: bytes) -> int:
        nonlocal left
        if left <= 0:
            raise OSError(ENOSPC, os.strerror(ENOSPC))
        put = real(file, bytes(data)[:left])
        left -= put
        return put

    _with(run, "write", write)


def read_only(run: Run) -> None:
    """For some answers nothing can be opened for writing."""
    real = os.open

    def no_open(path: str, flags: int, mode: int = 0o777) -> int:
        if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            raise OSError(EROFS, os.strerror(EROFS))
        return real(path, flags, mode)

    _with(run, "open", no_open)


def _with(run: Run, name: str, other: Callable[..., int]) -> None:
    """Some answers with another function of the system in its place."""
    real = getattr(os, name)
    setattr(os, name, other)
    try:
        for _ in range(run.lots.randrange(1, 4)):
            next_answer(run)
    finally:
        setattr(os, name, real)


def clock(run: Run) -> None:
    """The clock jumps, back or forward."""
    year = run.lots.choice((1970, 2019, 2038, 2099))
    run.at = f"{year}-01-01T00:00:00+00:00"


def other_job(run: Run) -> None:
    """Another window begins a job of its own, in the middle of this one."""
    other = Journal(run.home)
    number = other.open_job(run.at)
    other.record(number, Job(), (e.Described("another", (), 1.0),), run.at)
    other.close()


def same_job(run: Run) -> None:
    """Another window goes on with this job."""
    other = Journal(run.home)
    entry = other.entry(run.number) if run.number else None
    if entry:
        with suppress(WrongStageError):
            other.record(run.number, entry.job, (e.Told("from over there"),), run.at)
            run.told.append("the other window knows what it did")
            run.is_behind = True
    other.close()


def kill(run: Run) -> None:
    """The process dies at some write of the next answers, or between two of them."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        _die(run, write)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        acknowledged = len(pipe.read())
    os.waitpid(child, 0)
    for group in run.script[:acknowledged]:
        run.job = _after(run.job, group)
    del run.script[:acknowledged]
    if not run.number and acknowledged:
        run.number = max(Journal(run.home).copies.numbers())
    in_flight = run.script[0] if run.script else ()
    run.journal.close()
    run.journal = Journal(run.home)
    entry = run.journal.entry(run.number) if run.number else None
    run.told += run.journal.remarks
    run.journal.remarks.clear()
    if in_flight and entry and entry.job == _after(run.job, in_flight):
        run.job = entry.job  # it was on the disk and not said back yet
        del run.script[0]


def _after(job: Job, group: Group) -> Job:
    """The job after an answer; as it was where the answer does not fit it any more."""
    try:
        return reduce(advance, group, job)
    except WrongStageError:
        return job


def _die(run: Run, pipe: int) -> None:
    left = run.lots.randrange(40)

    def step(real: Callable[..., object]) -> Callable[..., object]:
        def counted(*arguments: object) -> object:
            nonlocal left
            left -= 1
            if left < 0:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*arguments)

        return counted

    real_write = os.write
    for name in ("write", "fsync", "open", "lseek"):
        setattr(os, name, step(getattr(os, name)))
    for group in run.script[:6]:
        with suppress(WrongStageError):
            run.answer(group)
        if not run.waiting:
            real_write(pipe, b".")
    os.kill(os.getpid(), signal.SIGKILL)


FAULTS = (
    flip,
    cut,
    lose,
    earlier,
    full,
    read_only,
    clock,
    other_job,
    same_job,
    kill,
)


def next_answer(run: Run) -> None:
    """Save the next answer of the script, if it still fits the job."""
    if run.script:
        group = run.script.pop(0)
        with suppress(WrongStageError):
            run.answer(group)
