"""What the screen itself says and asks: the first view, the menu, the keys, leaving."""

from textual.content import Content

from bot.desk.bench import OpenJob
from bot.talk import phrases
from bot.talk.clean import clean
from bot.tui.pages import Option, Part, Question
from bot.tui.prose import Paragraph

MOST_OFFERED = 5
GOING_ON = ("go on", "carry on", "continue", "resume", "the old", "old one", "last one")
"""Words that begin the wish to go on with the newest open job."""
HELLO = (
    "Say what you see, hear, feel or smell: where on the truck, when, and how often. "
    "Any words will do. What cannot be saved is said at once."
)
FIRST = "The maker's manual, the law where you are and your own eyes come first."
LEAVING = "To leave press Esc, or type quit. Press ctrl+c once more to leave now."
NOTHING_TYPED = "Nothing typed. For the menu press Esc."
NOTHING_SAID = "Nothing was said, so nothing was written down."
AFTER = Question(
    "This job is closed. What now?",
    (Option("1", "Start another job"), Option("2", "Leave")),
)
_KEYS = (
    ("1 2 3", "choose an answer: its row lights; Enter takes it"),
    ("words", "type them at any time and press Enter"),
    ("Enter", "with nothing typed: read on"),
    ("arrows", "choose the answer above or below"),
    ("PgUp", "read back in the step; PgDn or the mouse wheel: read on"),
    ("Home", "to its first line, End to its last, while nothing is typed"),
    ("F1", "these keys"),
    ("F2", "all of the talk, and back to the step"),
    ("F3", "look things up: jobs, pages, sums; and back to the same step"),
    ("F4", "what you answered so far; pick one to answer it anew"),
    ("ctrl+z", "take the last answer back"),
    ("ctrl+Up", "what you typed before"),
    ("ctrl+f", "find words in the step, the talk or a page; Esc when done"),
    ("ctrl+p", "all of these as a list, to search and pick from"),
    ("Esc", "the menu"),
    ("quit", "leave; the job stays where it is"),
    ("Shift", "hold it and drag to select text with the mouse"),
)


def remark(text: str) -> Part:
    """Words of the screen's own in the talk."""
    return Part("say", (Paragraph(Content(text)),))


def waiting(to_go: str) -> str:
    """The line that counts down to a reading."""
    return f"WAIT for the next reading: {to_go}"


WAIT_OVER = "The wait is over: take the reading now."
NOTHING_TO_SEE = "There is nothing to look up here."
NOTHING_ENTERED = "Nothing is answered yet."
NO_UNDO = "There is nothing to take back here."


def hello(about: str) -> tuple[Part, ...]:
    """The first words of a new job, with a remark about the cards if there is one."""
    remarks = (remark(clean(about)),) if about else ()
    return (*remarks, remark(HELLO), remark(FIRST))


def keys() -> Part:
    """What the keys do, in a line each."""
    rows = (
        Paragraph(Content(does), Content.styled(f"{key:7}", "bold"))
        for key, does in _KEYS
    )
    return Part("say", tuple(rows))


def resume(offers: tuple[OpenJob, ...]) -> Question:
    """Which open job to go on with, the newest first, or a new one."""
    rows = [
        Option(str(number), _offered(offer))
        for number, offer in enumerate(offers[:MOST_OFFERED], 1)
    ]
    new = Option(str(len(rows) + 1), "Start a new job")
    text = "Go on with an open job? Or say what is wrong now."
    return Question(text, (*rows, new))


def _offered(offer: OpenJob) -> str:
    return f"{told(offer)}, of {offer.opened[:10]}"


def told(job: OpenJob) -> str:
    """An open job in a line: may it move, and what waits, come first."""
    verdict = f"{job.verdict.upper()}, " if job.verdict else ""
    wait = "" if job.seconds is None else f", wait: {to_go(job.seconds)}"
    return clean(f"Job {job.number}: {verdict}{job.about}, {job.stage}{wait}")


def to_go(seconds: float) -> str:
    """How long there is to wait.

    >>> to_go(65.4), to_go(-3)
    ('1:05 to go', 'read now')
    """
    if seconds <= 0:
        return "read now"
    return f"{int(seconds) // 60}:{int(seconds) % 60:02} to go"


def taken(offers: tuple[OpenJob, ...], words: str) -> tuple[int | None, str]:
    """The job that an answer to `resume` means, and words left over for it."""
    shown = offers[:MOST_OFFERED]
    bare = words.lower().strip(" .!")
    if bare.isdigit() and 0 < int(bare) <= len(shown):
        return shown[int(bare) - 1].number, ""
    if bare in phrases.ASSENT or bare.startswith(GOING_ON):
        return shown[0].number, ""
    named = [offer for offer in shown if f"job {offer.number}" in bare]
    if named:
        return named[0].number, ""
    if bare in (str(len(shown) + 1), *phrases.DISSENT, "new", "new job"):
        return None, ""
    return None, words


def does(question: Question | None, typed: str, *, must_read: bool) -> str:
    """What Enter will do with what stands in the box."""
    label = question.label(typed) if question else None
    if must_read and (label or not typed):
        return READ_ON
    if label:
        return f"Enter takes {typed}: {' '.join(label.split())}"
    if typed:
        return question.words if question and question.words else "Enter says this"
    if question and question.has_numbers:
        return "A reading, an answer's number, or your own words"
    if question and question.options:
        return "An answer's number or an arrow, or your own words"
    return "Your own words; then Enter"


READ_ON = "More below: Enter reads on, then answer"
COVERED = "Enter goes back to the step"


def parting(number: int, home: str, *, is_over: bool) -> str:
    """The line that stays in the terminal: where the job is, how to go on."""
    if is_over:
        return f"Job {number} is closed and kept in {home}. 'chock jobs' lists all."
    return f"Job {number} is kept in {home}. To go on, type: chock"
