"""Kill chock at many points of a job and count what was lost: nothing must be.

    python tools/killtest.py [--points N] [--kb kb] [--index FOLDER] [--json FILE]

A child walks a whole job through the real conversation and tells every answer that it
has acknowledged. It dies by SIGKILL at the n-th line of the code that saves (journal,
job, conversation), n spread evenly over the walk. Then the journal is opened again: all
acknowledged answers must be in it, the job must replay whole, and the step on the table
must be the one shown last, or the next one if the answer was on disk already.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, NamedTuple

from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.job.job import Job, Stage
from bot.store.journal import Journal

if TYPE_CHECKING:
    from _typeshed import TraceFunction

ROOT = Path(__file__).resolve().parent.parent
WALK = (
    "one tyre hisses at the hub after I switch off and is flat by morning",
    "1",
    "2",
    *("1",) * 3,
    "0",
    "1",
    "back",
    *("1",) * 12,
)
"""Typed answers: a description, a card, findings, a step back, a repair, a proof."""

NOW = "2026-11-25T10:00:00+00:00"

WATCHED = tuple(str(ROOT / "bot" / name) for name in ("store/", "desk/conv", "job/"))


def main() -> int:
    """Run the points and print what was found; 1 if anything was lost."""
    asked = _arguments()
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        if asked.index:
            shutil.copytree(asked.index, home / "whole")
        lines, states = _whole(asked.kb, home / "whole")
        points = [
            1 + n * (lines - 1) // max(asked.points - 1, 1) for n in range(asked.points)
        ]
        run = Run(asked.kb, home / "whole", states)
        lost = [
            says
            for number, point in enumerate(points)
            if (says := run.one(home / str(number), point))
        ]
    figures = {"lines": lines, "points": len(points), "lost": len(lost)}
    print(f"lines of our code in the walk  {lines}")
    print(f"kill points                    {len(points)}")
    print(f"acknowledged answers lost      {len(lost)}")
    for says in lost:
        print(f"  {says}")
    if asked.json:
        Path(asked.json).write_text(json.dumps(figures) + "\n")
    return 1 if lost else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--points", type=int, default=200)
    parser.add_argument("--kb", default=str(ROOT / "kb"))
    parser.add_argument("--index", help="a folder with an index that is made already")
    parser.add_argument("--json")
    return parser.parse_args()


def _whole(kb: str, home: Path) -> tuple[int, list[Job]]:
    """How many traced lines the whole walk has, and the job after 0, 1, ... answers.

    Also fills the index, so that every child is alike.
    """
    home.mkdir(exist_ok=True)
    states = [Job()]
    last = _walk(kb, home, lambda _, job: states.append(job))
    states += [last] * (len(WALK) + 2 - len(states))
    _forget(home)
    count = 0

    def trace(frame: FrameType, event: str, _: object) -> TraceFunction | None:
        nonlocal count
        if not frame.f_code.co_filename.startswith(WATCHED):
            return None
        count += event == "line"
        return trace

    sys.settrace(trace)
    job = _walk(kb, home, lambda *_: None)
    sys.settrace(None)
    if job.stage is not Stage.CLOSED:
        sys.exit(f"the walk no longer ends a job: it stays at '{job.stage.value}'")
    return count, states


def _forget(home: Path) -> None:
    """Take the jobs out of a store; the index stays."""
    shutil.rmtree(home / "jobs")
    for path in home.glob("jobs*"):
        path.unlink()


def _walk(kb: str, home: Path, acknowledge: Callable[[int, Job], None]) -> Job:
    journal = Journal(home)
    library = KbLibrary(kb, str(home), journal)
    talk = Conversation(library, journal, lambda: "2026-11-25T10:00:00+00:00")
    talk.open()
    for number, typed in enumerate(WALK):
        if not talk.is_over:
            talk.hear(typed)
            acknowledge(number, talk.job)
    library.close()
    journal.close()
    return talk.job


def _die_at(kb: str, home: Path, pipe: int, point: int) -> None:
    """In the child: walk, and die at the point; never returns."""
    left = point

    def trace(frame: FrameType, event: str, _: object) -> TraceFunction | None:
        nonlocal left
        if not frame.f_code.co_filename.startswith(WATCHED):
            return None
        left -= event == "line"
        if left <= 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return trace

    try:
        sys.settrace(trace)
        _walk(kb, home, lambda number, _: _tell(pipe, number))
    finally:
        os._exit(0)


def _tell(pipe: int, number: int) -> None:
    os.write(pipe, f"{number} ".encode())


class Run(NamedTuple):
    """What every kill begins with: the walk's store, and its job answer by answer."""

    kb: str
    store: Path
    states: list[Job]

    def one(self, home: Path, point: int) -> str:
        """Kill a child at one point; what was lost in words, or nothing."""
        shutil.copytree(self.store, home, ignore=shutil.ignore_patterns("jobs*"))
        read, write = os.pipe()
        child = os.fork()
        if not child:
            os.close(read)
            _die_at(self.kb, home, write, point)
        os.close(write)
        with os.fdopen(read, "rb") as pipe:
            acknowledged = pipe.read().split()
        _, status = os.waitpid(child, 0)
        if os.WIFEXITED(status) and os.WEXITSTATUS(status):
            return f"point {point}: the child failed by itself"
        return self._lost(home, point, len(acknowledged))

    def _lost(self, home: Path, point: int, acknowledged: int) -> str:
        """Compare the journal with the same walk stopped after those answers."""
        journal = Journal(home)
        rows = journal.listed(1)
        entry = journal.entry(rows[0].number) if rows else None
        found = entry.job if entry else Job()
        if entry and not entry.whole:
            return f"point {point}: the journal is damaged"
        wanted = self.states[acknowledged : acknowledged + 2]
        if _resumed(self.kb, home, journal, found) not in wanted:
            return f"point {point}: {acknowledged} answers acknowledged, not all there"
        journal.close()
        return ""


def _resumed(kb: str, home: Path, journal: Journal, found: Job) -> Job:
    """The job as it stands once chock is opened again."""
    entry = journal.latest_open()
    if entry is None:
        return found
    library = KbLibrary(kb, str(home), journal)
    talk = Conversation(library, journal, lambda: NOW, entry)
    talk.open()
    return talk.job


if __name__ == "__main__":
    sys.exit(main())
