"""What taking the last answer back would undo, in a few words."""

from bot.job.job import Job

MOST_LETTERS = 32
"""Of an answer so much is named; the rest is a row of dots."""


def undoes(job: Job) -> str:
    """What going back takes back; "" where it has no name of its own.

    >>> undoes(Job())
    ''
    """
    then = job.earlier
    if then is None:
        return ""
    if len(job.answers) > len(then.answers):
        return f"'{_short(job.answers[-1].answer)}'"
    if len(job.readings) > len(then.readings):
        return f"the reading {job.readings[-1].value:g}"
    if len(job.skipped) > len(then.skipped):
        return "leaving that step out"
    return next((name for field, name in _NAMES if _differs(field, job, then)), "")


_NAMES = (
    ("outcome", "closing the job"),
    ("helped", "calling for help"),
    ("clean", "the clean trial"),
    ("failed", "that the fault came back"),
    ("measure", "the way home"),
    ("repair", "that it is repaired"),
    ("showed", "how often it showed"),
    ("named", "the cause"),
    ("picked", "the choice of page"),
    ("declined", "that it is not this page"),
    ("words", "what you said last"),
)
"""Fields of a job -> what it is that changed them, the later stages first."""


def _differs(field: str, job: Job, then: Job) -> bool:
    return bool(getattr(job, field) != getattr(then, field))


def _short(text: str) -> str:
    return text if len(text) <= MOST_LETTERS else f"{text[: MOST_LETTERS - 3]}..."
