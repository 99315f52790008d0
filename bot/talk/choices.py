"""The moves that many questions offer, each with its mark and its words."""

from bot.job import events as e
from bot.job.job import Job
from bot.talk import phrases
from bot.talk.messages import Aside, Choice

WHY = Choice("?", "why", Aside.WHY, phrases.WHY)
BACK = Choice("<", "back", e.SteppedBack(), phrases.BACK)
PAUSE = Choice("=", "pause", e.Paused(), phrases.PAUSE)
CALL = Choice("!", "call for help", e.HelpCalled(), phrases.HELP)
SUSPECTS = Choice("*", "suspicions", Aside.SUSPECTS, phrases.SUSPECTS)


def back(job: Job) -> tuple[Choice, ...]:
    """Going back, where there is anything to go back to."""
    return (BACK,) if job.earlier else ()
