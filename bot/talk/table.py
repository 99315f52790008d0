"""The moves: each mark with its one meaning, and the words that need no mark.

From this one table come the marks of every question, the help, and the README's table.
"""

from typing import NamedTuple


class Move(NamedTuple):
    """A mark ("" for one that is only said), how it is said, and what it does."""

    mark: str
    said: str
    does: str


CANT_TELL = Move("0", "can't tell", "no answer, or none of those: nothing is believed")
CANT_DO = Move("-", "can't do that here", "the step is left out of this job")
ANOTHER = Move(">", "another way", "the step is put off; something else comes first")
WHY = Move("?", "why", "why this step, and how your words were taken so far")
SUSPECTS = Move("*", "suspicions", "what it may be, how surely, and by which answers")
BACK = Move("<", "back", "takes your last answer back")
ORDER = Move("#", "as written", "checks as the page has them, or the best next again")
LEAD = Move("+", "go there", "the page that a step leads to; a closed job again")
AGAIN = Move("@", "look again", "the check whose answer does not fit the others")
PAUSE = Move("=", "pause", "leaves the job as it is, for a minute or a year")
PASSED = Move("", "it has been passed", "asks what one who may decide it has passed")
CALL = Move("!", "call for help", "gives the work to somebody else, with all you found")

MOVES = (
    CANT_TELL,
    CANT_DO,
    ANOTHER,
    WHY,
    SUSPECTS,
    BACK,
    ORDER,
    LEAD,
    AGAIN,
    PAUSE,
    CALL,
    Move("", "is it safe to drive?", "the verdict now, from the first word on"),
    PASSED,
    Move("", "wrong card", "leaves this card; others are offered"),
    Move("", "what should I carry?", "the parts that this fault may want"),
    Move("", "notes", "what members saw of this fault: hearsay, never weighed"),
    Move("", "check 4, repair 2", "that step of the page, by number or by title"),
    Move("", "not doing it now", "checks that need the fault to show wait"),
    Move("", "it is doing it now", "those checks come first"),
    Move("", "I have no meter", "steps that need what is missing are left out"),
    Move("", "new job", "leaves this one as it is, to go on with later; asks anew"),
    Move("", "keys", "these moves"),
    Move("", "quit", "leaves chock; everything is kept"),
)
BY_MARK = {move.mark: move for move in MOVES if move.mark}


def markdown() -> str:
    """The table as the README has it."""
    rows = [
        f"| {f'`{move.mark}`' if move.mark else ''} | {move.said} | {move.does} |"
        for move in MOVES
    ]
    return "\n".join(("| mark | or say | what it does |", "| --- | --- | --- |", *rows))
