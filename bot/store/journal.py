"""The journal: every answer of every job, on the disk before it counts, and twice.

The truth is one plain-text file a job, each line chained to the one before; a second
copy of all lines, and what is looked up without them, lie in one database beside it
(`bot.store.copies`). What one copy has wrong is put right from the other when a job is
opened; `remarks` says in a sentence each what happened.
"""

import json
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial, reduce
from itertools import chain, islice
from pathlib import Path
from typing import NamedTuple, TypeVar

from bot.job.events import Event, PartLost
from bot.job.hazards import PART_LOST
from bot.job.job import NOT_KNOWN, Job
from bot.job.moves import WrongStageError, advance
from bot.job.saved import MalformedEventError, pack, unpack
from bot.model.place import BotError
from bot.store.chain import Best, Line
from bot.store.copies import DAMAGED, JOBS, SECOND, Copies
from bot.store.errors import JournalError as JournalError
from bot.store.errors import MovedOn as MovedOn
from bot.store.first_edition import move_over
from bot.store.lock import leave, take
from bot.store.second import DamagedError, Ended, Listed, Second

Told = TypeVar("Told")
READ_ONLY = "Nothing can be saved here: the store is read-only. All else works."
MOST_LISTED = 200
"""So many jobs are looked at where the newest are wanted. Our choice."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One job of the journal: its number, first and last moment, and state.

    `whole` is False when a part of it is lost from both copies; `ended` is when its
    outcome, if there is one, was recorded.
    """

    number: int
    opened: str
    last: str
    job: Job
    whole: bool
    ended: str = ""


class Walked(NamedTuple):
    """One event of a job: when it happened, and the job after it."""

    at: str
    event: Event
    job: Job


class Journal:
    """All jobs of one person."""

    def __init__(self, home: Path) -> None:
        """Open what lies in a folder, or begin there.

        Args:
            home: the folder.

        Raises:
            JournalError: the folder cannot be made.
        """
        try:
            home.mkdir(0o700, parents=True, exist_ok=True)
        except OSError as error:
            says = (
                f"cannot make the folder '{home}' ({error.strerror}); choose another "
            )
            raise JournalError(f"{says}with --home DIR") from error
        self.home = home
        self.copies = Copies(home)
        self._told: dict[int, Entry] = {}
        if not os.access(home, os.W_OK):
            self.copies.remark(READ_ONLY)
        move_over(home, self.copies)
        if self.copies.is_fresh:
            self._look_up_all()

    @property
    def path(self) -> Path:
        """The second copy, of which the ranking reads."""
        return self.home / SECOND

    @property
    def remarks(self) -> list[str]:
        """What happened to the copies, a sentence each."""
        return self.copies.remarks

    def close(self) -> None:
        """Close the files."""
        self.copies.close()

    def open_job(self, at: str = "-") -> int:
        """The number of a new job, which no other window can get.

        Raises:
            JournalError: nothing can be saved here.
        """
        return self.copies.claim(at)

    def take(self, number: int) -> bool:
        """Work on a job in this window; False while another one does."""
        return take(self._at_work(number))

    def leave(self, number: int) -> None:
        """Work on a job no longer."""
        leave(self._at_work(number))

    def _at_work(self, number: int) -> Path:
        return self.home / JOBS / f"{number}.at-work"

    def record(self, number: int, job: Job, events: Sequence[Event], at: str) -> Job:
        """Put the events of one answer on disk, all or none, then give the job after.

        Args:
            number: the job's number, from `open_job` or `entry`.
            job: the job as the caller knows it.
            events: what happened, in order.
            at: the moment, ISO 8601.

        Raises:
            WrongStageError: an event cannot happen; nothing was written.
            MovedOn: the job goes on in another window; nothing was written.
            JournalError: nothing was written; the job is as it was.
        """
        after = reduce(advance, events, job)
        first, last = self.copies.next_seq(number), len(events) - 1
        lines = []
        for nth, event in enumerate(events):
            kind, said = pack(event)
            text = json.dumps(said, ensure_ascii=True, sort_keys=True)
            lines.append(Line(first + nth, nth == last, at, kind, text))
        old = self._told.get(number)
        ended = at if old is None or after.outcome != job.outcome else old.ended
        opened = old.opened if old else at
        new = Entry(number, opened, at, after, old.whole if old else True, ended)
        self.copies.add(number, lines, lambda size: looked_up(new, size))
        self._told[number] = new
        if self.copies.is_fresh:  # it was set aside just now
            self._look_up_all()
        return after

    def entry(self, number: int) -> Entry | None:
        """One job, replayed; None when there is no such job.

        Raises:
            JournalError: it is there, and nothing of it can be proved.
        """
        found = self.copies.read(number)
        if found is None or not found.lines:
            return None
        entry = _replayed(number, found)
        self._told[number] = entry
        self.copies.look_up(number, lambda size: looked_up(entry, size))
        return entry

    def walked(self, number: int) -> tuple[Walked, ...]:
        """The events of a job in order; empty when there is no such job.

        Raises:
            JournalError: it is there, and nothing of it can be proved.
        """
        found = self.copies.read(number)
        return tuple(_walked(found)) if found and found.lines else ()

    def listed(
        self, most: int = MOST_LISTED, *, only_open: bool = False
    ) -> tuple[Listed, ...]:
        """What is shown of the newest jobs, the newest first."""
        self._take_in_new()
        rows = self._rows(most, only_open=only_open)
        if any(self.copies.is_stale(row.number, row.size) for row in rows):
            for row in rows:
                self._tried(row.number)
            rows = self._rows(most, only_open=only_open)
        return rows

    def _rows(self, most: int, *, only_open: bool) -> tuple[Listed, ...]:
        """The rows of the second copy; of the files where it has none."""

        def ask() -> tuple[Listed, ...] | None:
            return self.copies.ask(
                lambda second: second.listed(most, only_open=only_open), None
            )

        rows = self._proved(ask)
        if rows is not None:
            return rows
        numbers = reversed(self.copies.numbers())
        told = (looked_up(entry, 0) for n in numbers if (entry := self._tried(n)))
        kept = (listed for listed, ended in told if not (only_open and ended))
        return tuple(islice(kept, most))

    def latest_open(self) -> Entry | None:
        """The newest job that is not closed and can be read, or None."""
        rows = self.listed(only_open=True)
        return next((e for row in rows if (e := self._tried(row.number))), None)

    def endings(self, card: str) -> tuple[Ended, ...]:
        """How the jobs on a card ended, in order."""
        return self._ended(lambda second: second.ended(card))

    def keeping(self) -> tuple[Ended, ...]:
        """How the jobs whose words may help to find their pages ended, in order."""
        return self._ended(Second.keeping)

    def history(self, trucks: Sequence[str]) -> tuple[Ended, ...]:
        """How the jobs of some trucks ended, in order; "" for those that name none."""
        found = (self._ended(partial(Second.ended_of, truck=t)) for t in trucks)
        return tuple(sorted(chain.from_iterable(found)))

    def _ended(self, ask: Callable[[Second], tuple[Ended, ...]]) -> tuple[Ended, ...]:
        """Where help was called and no cause named, it is not known."""
        nothing: tuple[Ended, ...] = ()
        ended = self._proved(lambda: self.copies.ask(ask, nothing))
        return tuple(
            e._replace(cause=NOT_KNOWN) if e.helped and not e.cause else e
            for e in ended
        )

    def _proved(self, ask: Callable[[], Told]) -> Told:
        """What was asked for; all is looked up anew where a row is damaged."""
        try:
            told = ask()
        except DamagedError:
            self.copies.remark(DAMAGED)
            self._look_up_all()
            return ask()
        if not self.copies.is_fresh:
            return told
        self._look_up_all()  # it was set aside just now
        return ask()

    def _take_in_new(self) -> None:
        """Jobs whose files are newer than the second copy."""
        for number in self.copies.newer():
            self._tried(number)

    def _tried(self, number: int) -> Entry | None:
        """One job, or a remark why it cannot be read: the others go on."""
        try:
            return self.entry(number)
        except BotError as error:
            self.copies.remark(f"{error}.")
            return None

    def mend(self) -> None:
        """Put right whatever one of the copies has right; `remarks` says what."""
        self._look_up_all()
        if self.copies.renew_second():
            self._look_up_all()

    def _look_up_all(self) -> None:
        """Fill the second copy from the files."""
        with self.copies.filling():
            for number in self.copies.numbers():
                with suppress(JournalError):  # `bot.store.proof` names it
                    self.entry(number)


def looked_up(entry: Entry, size: int) -> tuple[Listed, Ended | None]:
    """What is looked up of a job without opening it."""
    job, out = entry.job, entry.job.outcome
    listed = Listed(
        entry.number,
        entry.opened,
        entry.last,
        job.stage.value,
        job.card,
        job.words[0] if job.words else "",
        bool(out and out.proved),
        bool(out and out.helped),
        out.sure if out else 0.0,
        size,
    )
    if out is None:
        return listed, None
    ended = Ended(
        entry.number,
        entry.ended,
        job.card,
        out.cause,
        out.proved,
        out.helped,
        entry.opened,
        job.truck,
        out.repair,
        float(out.minutes),
        float(out.money),
        ". ".join(job.words),
        job.keeps_words,
    )
    return listed, ended


def _event(line: Line) -> Event:
    """The event of a line; its digest proves who came before, not who wrote it."""
    try:
        said = json.loads(line.said)
    except (ValueError, RecursionError) as error:
        raise MalformedEventError(f"line {line.seq} cannot be read") from error
    return unpack(line.kind, said)


def _replayed(number: int, found: Best) -> Entry:
    """The job that its lines made; it is held where a part of them is lost."""
    job, whole, ended = Job(), not found.lost, found.lines[0].at
    for step in _walked(found):
        if step.job.outcome != job.outcome:
            ended = step.at
        job = step.job
    whole = whole and PART_LOST not in (*job.stops, *job.passed)
    opened, last = found.lines[0].at, found.lines[-1].at
    return Entry(number, opened, last, job, whole, ended)


def _walked(found: Best) -> Iterator[Walked]:
    """The events of a job in order, what is lost told in its place."""
    job = Job()
    for nth, line in enumerate((*found.lines, None)):
        if nth in found.gaps:
            at = line.at if line else found.lines[-1].at
            job = advance(job, PartLost(found.lost))
            yield Walked(at, PartLost(found.lost), job)
        if line is None:
            return
        try:
            event = _event(line)
            job = advance(job, event)
        except (WrongStageError, MalformedEventError):
            event = PartLost(1)
            job = advance(job, event)
        yield Walked(line.at, event, job)
