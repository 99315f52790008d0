"""The conversation that every window drives: words in, messages out, all of it saved.

The order is always disk, job, words: an event is in the journal before the job moves,
and the job has moved before anything is said of it.
"""

from collections.abc import Callable
from datetime import datetime

from bot.job.events import Event, Paused, Resumed
from bot.job.job import Job, Stage
from bot.job.moves import NEXT_STAGE
from bot.model.place import BotError
from bot.store.journal import Entry, Journal, JournalError
from bot.talk import phrases
from bot.talk.ask import ask
from bot.talk.clean import clean
from bot.talk.follow import follow
from bot.talk.hear import hear
from bot.talk.library import Library, View, look
from bot.talk.messages import Ask, Message, NotSaved, Say, Suspicions
from bot.talk.owed import sealed
from bot.talk.show import noted, show, suspicions

MOST_FOLLOWING = 20
"""More events than this in a row without the person would be a loop of ours."""


LIKELIEST = 2
"""So many cards are made ready before one is chosen."""


class Conversation:
    """One job, talked through from where it stands."""

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
        self.number = entry.number if entry else journal.open_job()
        self.job = entry.job if entry else Job()
        self._whole = entry.whole if entry else True
        self._looking_back = self.job.stage is Stage.CLOSED

    @property
    def view(self) -> View:
        """The job with its card and what is believed now."""
        return look(self.job, self._library)

    @property
    def is_over(self) -> bool:
        """Whether the job is closed; one opened again is not, till an answer is in."""
        return self.job.stage is Stage.CLOSED and not self._looking_back

    def open(self) -> tuple[Message, ...]:
        """What to say first: the present step, the same after a pause or a crash."""
        says: list[Message] = []
        if not self._whole:
            says.append(
                Say(
                    "The last part of this job's journal is damaged. It goes on from "
                    "the last whole answer."
                )
            )
        if self.job.stage is Stage.PAUSED:
            self._record(Resumed())
        self._follow()
        return (*says, *show(self.view, self._library))

    def hear(self, typed: str) -> tuple[Message, ...]:
        """Take what was typed or picked; give everything to show now, question last."""
        before = self.view
        try:
            heard = hear(before, typed, self._library)
            says = list(heard.says)
            self._record(*heard.events)
            for event in heard.events:
                says += noted(event, before, self._library)
            self._follow()
        except JournalError as error:
            return (NotSaved(f"{error}."), ask(self.view, self._library))
        if not heard.events:
            return (*says, ask(before, self._library))
        shown = show(self.view, self._library, before.job)
        return (
            (*says, *shown[:-1], self._farewell()) if self.is_over else (*says, *shown)
        )

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
        """How long until a moment, ISO 8601; below 0 when it has passed."""
        now = datetime.fromisoformat(self._now())
        return (datetime.fromisoformat(moment) - now).total_seconds()

    def asks_for_another(self, typed: str) -> bool:
        """Whether the whole of what was typed asks for a new job in place of this."""
        line = self._library.line(clean(typed))
        return line.is_spoken and phrases.NEW_JOB in line.told

    def left(self) -> tuple[Message, ...]:
        """How to go on with this job, said as another is begun in its place."""
        if self.job.stage in (Stage.DESCRIBE, Stage.CLOSED):
            return ()
        return (
            Say(f"Job {self.number} stays as it is: chock talk --job {self.number}."),
        )

    def pause(self) -> None:
        """Leave the job where it is; nothing is asked."""
        if (self.job.stage, Paused) in NEXT_STAGE:
            self._record(Paused())

    def suspicions(self) -> Suspicions | None:
        """What is suspected now, for a window that shows it all the time."""
        found = suspicions(self.view)
        return found[0] if found and isinstance(found[0], Suspicions) else None

    def _record(self, *events: Event) -> None:
        """The events of one answer go to disk together, or not at all."""
        if events:
            self._looking_back = False
            now = self._now()
            kept = [sealed(event, self.job, self._library) for event in events]
            self.job = self._journal.record(self.number, self.job, kept, now)

    def _follow(self) -> None:
        for _ in range(MOST_FOLLOWING):
            event = follow(self.view, self._library)
            if event is None:
                return
            self._record(event)
        raise BotError("this step leads round in a circle; type back and answer anew")
