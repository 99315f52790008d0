"""Where no page fits: three questions that narrow down any fault, and how to go on.

The order is the trade's: safe first, what changed last, which system, then halving.
Source: common practice, no source.
"""

from bot.job.job import Job
from bot.talk.messages import Message, Say

SAFE_FIRST = (
    "First, may it move? Look: do the brakes hold, is their air up and steady; are all "
    "wheels, nuts and tyres whole; does it steer; does anything smoke, burn, leak fuel "
    "or boil? Until you have looked it stays where it is. Tell me what is not as it "
    "should be."
)

QUESTIONS = (
    "I have nothing that fits well. What was changed, mended, loaded, filled up or "
    "driven through last, before it began? And since when is it so?",
    "Still nothing that fits well. Which part of the truck is it in: engine, fuel and "
    "cooling; brakes and air; tyres and inflation; electrics; gearbox, axles and "
    "shafts; steering; cab and heater?",
    "Halve it: what still works that shares something with it, the same fuse, pipe, "
    "pump, shaft or pedal? And is its mate good, on the other side or axle?",
    "I have no page for this. Say more, or keep what you said for the club.",
)

WITHOUT_A_PAGE = (
    "So one goes on without a page. Look hard at what was changed last, and undo it if "
    "you can. Compare with the mate: other side, other axle, other circuit. Halve the "
    "way from source to fault, and look in the middle: the fault lies where good turns "
    "bad. Change one thing at a time and write it down. Fit dear parts last. For "
    "brakes, steering and what lifts or holds a load, the maker's book and somebody "
    "who has learnt it."
)


def question(job: Job) -> str:
    """What to ask next, by how much was said already."""
    return QUESTIONS[min(max(len(job.words), 1), len(QUESTIONS)) - 1]


def advice(job: Job) -> tuple[Message, ...]:
    """What is said before the question: safety first, the way to go on at the end."""
    if len(job.words) <= 1:
        return (Say(SAFE_FIRST),)
    return (Say(WITHOUT_A_PAGE),) if len(job.words) == len(QUESTIONS) else ()
