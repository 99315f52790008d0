"""What is wrong with the two copies of a job, in words, and lines chained anew."""

import json
from collections.abc import Iterator

from bot.store.chain import DIGEST, Best, Line, write_line

LOST = "PartLost"
"""The kind of the line that stands where lines are lost."""


def wrongs(job: int, found: Best) -> Iterator[tuple[str, str]]:
    """What is wrong with a job's copies, and what puts it right.

    Args:
        job: the number.
        found: what the two copies come to.
    """
    if found.lost:
        yield (
            f"Job {job}: {_lines(found.lost)} lost from both copies",
            "what is left goes on, and the truck is held until somebody entitled has "
            "looked it through",
        )
    elif found.mended:
        yield (
            f"Job {job}: {_lines(found.mended)} damaged or missing in its file",
            "put right from the second copy",
        )
    if found.torn:
        yield (
            f"Job {job}: the last answer was cut short before it was saved",
            "taken off; give it again",
        )
    if found.spare and not found.lost:
        yield (
            f"Job {job}: {_lines(found.spare)} damaged or missing in the second copy",
            "put right from the job's file",
        )


def _lines(number: int) -> str:
    return "1 line is" if number == 1 else f"{number} lines are"


def rechained(found: Best) -> tuple[str, ...]:
    """The lines with one that says what is lost, in its place, all chained anew."""
    at = found.lines[-1].at if found.lines else "-"
    lines = list(found.lines)
    mark = Line(0, True, at, LOST, json.dumps({"lines": found.lost}))
    lines.insert(found.gaps[0] if found.gaps else len(lines), mark)
    texts = [found.texts[0]]
    for seq, line in enumerate(lines, 1):
        texts.append(write_line(texts[-1][-DIGEST:], line._replace(seq=seq)))
    return tuple(texts)
