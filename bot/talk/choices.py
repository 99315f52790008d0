"""The moves that many questions offer, each with its mark and its words."""

from dataclasses import replace

from bot.job import events as e
from bot.job.job import Job
from bot.talk import phrases, table
from bot.talk.messages import Aside, Choice
from bot.talk.table import Move
from bot.talk.undo import undoes


def _offered(move: Move, act: e.Event | Aside, said: tuple[str, ...]) -> Choice:
    return Choice(move.mark, move.said, act, said)


WHY = _offered(table.WHY, Aside.WHY, phrases.WHY)
BACK = _offered(table.BACK, e.SteppedBack(), phrases.BACK)
PAUSE = _offered(table.PAUSE, e.Paused(), phrases.PAUSE)
CALL = _offered(table.CALL, e.HelpCalled(), phrases.HELP)
SUSPECTS = _offered(table.SUSPECTS, Aside.SUSPECTS, phrases.SUSPECTS)


def back(job: Job) -> tuple[Choice, ...]:
    """Going back, where there is anything to go back to, by what it undoes."""
    if not job.earlier:
        return ()
    what = undoes(job)
    return (replace(BACK, label=f"{BACK.label}, undo {what}") if what else BACK,)
