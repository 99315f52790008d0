"""The conversation that every window drives: words in, messages out, all of it saved.

The order is always disk, job, words: an event is in the journal before the job moves,
and the job has moved before anything is said of it.
"""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from functools import reduce

from bot.job.events import Event, Paused, Resumed, StopRaised, TruckNamed
from bot.job.job import Job, Stage
from bot.job.moves import NEXT_STAGE, advance
from bot.model.place import BotError
from bot.store.journal import Entry, Journal, JournalError, MovedOn
from bot.talk import phrases
from bot.talk.ask import ask
from bot.talk.clean import clean
from bot.talk.follow import follow
from bot.talk.hear import hear
from bot.talk.library import Library, View, entered, look
from bot.talk.messages import Ask, Message, NotSaved, Say, Stop, Suspicions
from bot.talk.owed import sealed
from bot.talk.passed import Instant, apart
from bot.talk.show import noted, resumed, show, suspicions

MOST_FOLLOWING = 20
"""More events than this in a row without the person would be a loop of ours."""


NOT_WHOLE = (
    "Some answers of this job are lost from the disk. What is left goes on; the truck "
    "is held until somebody entitled has looked it through."
)
KEPT = "It goes on all the same; what you say is kept here until it can be saved."
LOOKS_ON = (
    "Another window works on this job: this one looks on, and nothing typed here is "
    "noted. Enter shows how it stands now. To go on with it here, type: take over. For "
    "another job, type: new."
)
TAKEN_OVER = "It goes on in this window now. The other one is told at its next answer."
MOVED_ON = (
    "This job went on in another window. What you said last here is not in it. This is "
    "how it stands now."
)

LIKELIEST = 2
"""So many cards are made ready before one is chosen."""


class Conversation:
    """One job, talked through from where it stands.

    `number` is 0 until the first answer of a new job is saved. `trouble` says why what
    was said last is not saved; "" when all is. `looks_on`: another window works on the
    job, and what is typed here is not noted until it is taken over.
    """

    def __init__(
        self,
        library: Library,
        journal: Journal,
        now: Callable[[], str],
        entry: Entry | None = None,
    ) -> None:
        self._library = library
        self._journal = journal
        self._now = now
        self.number = entry.number if entry else 0
        self.job = entry.job if entry else Job()
        self._whole = entry.whole if entry else True
        self._unsaved: list[tuple[Job, list[Event], str]] = []
        self._awaited: tuple[str, Instant] = ("", ("", ""))
        self.trouble = ""
        self.looks_on = bool(entry) and not journal.take(self.number)
        self._looking_back = self.job.stage is Stage.CLOSED

    @property
    def view(self) -> View:
        """The job with its card and what is believed now."""
        return look(self.job, self._library)

    @property
    def is_over(self) -> bool:
        """Whether the job is closed; one opened again is not, till an answer is in."""
        return self.job.stage is Stage.CLOSED and not self._looking_back

    @property
    def on_table(self) -> tuple[object, ...]:
        """What the person is at; while it stays the same, so does the step."""
        return self.job.stage, self.job.card, self.job.step

    def entered(self) -> tuple[tuple[str, str], ...]:
        """The answers that count, each with its check's title."""
        return entered(self.view)

    def open(self) -> tuple[Message, ...]:
        """What to say first: the present step, the same after a pause or a crash."""
        says: list[Message] = []
        if not self._whole:
            says.append(Say(NOT_WHOLE))
        if self.looks_on:
            says.append(Say(LOOKS_ON))
            return self._with_trouble((*says, *show(self.view, self._library)))
        if self.job.stage is Stage.PAUSED:
            self._record(Resumed())
        self._follow()
        return self._with_trouble((*says, *resumed(self.view, self._library)))

    def hear(self, typed: str) -> tuple[Message, ...]:
        """Take what was typed or picked; give everything to show now, question last.

        What cannot be saved is heard all the same, and kept until it can be.
        """
        before, trouble = self.view, self.trouble
        try:
            heard = hear(before, typed, self._library)
            if self.looks_on and not any(
                isinstance(e, StopRaised) for e in heard.events
            ):
                return self._look_on(typed)
            self.looks_on = False
            says = list(heard.says)
            self._record(*heard.events)
            for event in heard.events:
                says += noted(event, before, self._library)
            self._follow()
        except MovedOn:
            return self._moved_on()
        if not heard.events:
            return (*says, ask(before, self._library))
        if trouble and not self.trouble:
            says.insert(0, Say("All is saved again."))
        shown = show(self.view, self._library, before.job)
        if self.is_over:
            shown = (*shown[:-1], self._farewell())
        return self._with_trouble((*says, *shown))

    def _with_trouble(self, shown: tuple[Message, ...]) -> tuple[Message, ...]:
        """What is shown, under what befell the disk; a danger stands first."""
        told: list[Message] = [Say(says) for says in self._journal.remarks]
        self._journal.remarks.clear()
        if self.trouble:
            told.append(NotSaved(f"NOT SAVED ({self.trouble}). {KEPT}"))
        at = max((n for n, m in enumerate(shown, 1) if isinstance(m, Stop)), default=0)
        return (*shown[:at], *told, *shown[at:])

    def _look_on(self, typed: str) -> tuple[Message, ...]:
        """The job as the other window has it now; or it is taken over."""
        self._read_again()
        self.looks_on = not self._asks(typed, phrases.TAKE_OVER)
        says = Say(LOOKS_ON if self.looks_on else TAKEN_OVER)
        return (says, *show(self.view, self._library))

    def _moved_on(self) -> tuple[Message, ...]:
        """The job as another window left it; what was said here is not in it."""
        self._read_again()
        return (Say(MOVED_ON), *show(self.view, self._library))

    def _read_again(self) -> None:
        """Take the job as it is on the disk."""
        entry = self._journal.entry(self.number)
        self._unsaved, self.trouble = [], ""
        self.job = entry.job if entry else Job()

    def prepare(self) -> bool:
        """While the person reads: make one more check's answers ready to be heard.

        False when nothing is left to do.
        """
        likely = [card for card, _ in self.job.candidates[:LIKELIEST]]
        cards = [self.job.card] if self.job.card else likely
        return any(self._library.prepare(card) for card in cards)

    def _farewell(self) -> Ask:
        """How to come back to a closed job."""
        again = f"chock talk --job {self.number}"
        return Ask(f"This job is closed. If it comes back: {again}")

    def seconds_to(self, moment: str) -> float:
        """How long until a moment, ISO 8601; below 0 when it has passed.

        Counted from when it was first asked for, by a clock that nobody can set.
        """
        here = self._now(), self._library.steady()
        if moment != self._awaited[0]:
            self._awaited = moment, here
        begun = self._awaited[1]
        whole = datetime.fromisoformat(moment) - datetime.fromisoformat(begun[0])
        return whole.total_seconds() - 60 * apart(begun, here)

    def asks_for_another(self, typed: str) -> bool:
        """Whether the whole of what was typed asks for a new job in place of this."""
        return self._asks(typed, phrases.NEW_JOB)

    def _asks(self, typed: str, what: str) -> bool:
        line = self._library.line(clean(typed))
        return line.is_spoken and what in line.told

    def left(self) -> tuple[Message, ...]:
        """How to go on with this job, said as another is begun in its place."""
        self.leave()
        if self.job.stage in (Stage.DESCRIBE, Stage.CLOSED):
            return ()
        return (
            Say(f"Job {self.number} stays as it is: chock talk --job {self.number}."),
        )

    def leave(self) -> None:
        """Work on this job in this window no longer; another one may."""
        if self.number and not self.looks_on:
            self._journal.leave(self.number)

    def pause(self) -> None:
        """Leave the job where it is; nothing is asked."""
        if (self.job.stage, Paused) in NEXT_STAGE and not self.looks_on:
            with suppress(MovedOn):  # then it is another window's to pause
                self._record(Paused())

    def suspicions(self) -> Suspicions | None:
        """What is suspected now, for a window that shows it all the time."""
        found = suspicions(self.view)
        return found[0] if found and isinstance(found[0], Suspicions) else None

    def _record(self, *events: Event) -> None:
        """The events of one answer go to disk together, or wait together."""
        if not events:
            return
        self._looking_back = False
        if self._library.in_use and self.job == Job():
            events = (TruckNamed(self._library.in_use), *events)
        kept = [sealed(event, self.job, self._library) for event in events]
        after = reduce(advance, kept, self.job)
        self._unsaved.append((self.job, kept, self._now()))
        self._save()
        if after.stage is Stage.CLOSED and not self.trouble:
            self._library.learn()
        self.job = after

    def _save(self) -> None:
        """Save what waits, in order, as far as it can be."""
        self.trouble = ""
        try:
            while self._unsaved:
                job, events, at = self._unsaved[0]
                if not self.number:
                    self.number = self._journal.open_job(at)
                    self._journal.take(self.number)
                self._journal.record(self.number, job, events, at)
                del self._unsaved[0]
        except MovedOn:
            raise
        except JournalError as error:
            self.trouble = f"{error}"

    def _follow(self) -> None:
        for _ in range(MOST_FOLLOWING):
            event = follow(self.view, self._library)
            if event is None:
                return
            self._record(event)
        raise BotError("this step leads round in a circle; type back and answer anew")
