"""The lines of a job's file: an event each, chained to the line before by its digest.

The first line names the job and holds a mark that no other file has; every other line
ends in the digest of itself and of the digest before it. A line that was changed, cut,
left out, put elsewhere or taken from another file does not follow. Where there are two
copies of the same lines, `best` takes of each line the copy that follows.
"""

import re
from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import NamedTuple

EDITION = 2
"""The first edition was rows in a database, which `bot.store.first_edition` reads."""

DIGEST = 32
"""Hexadecimal digits of SHA-256 that a line carries: 128 bits. Our choice."""

_HEAD = re.compile(
    r"chock job (?P<job>[1-9][0-9]{0,8}), edition (?P<edition>[0-9]{1,4}), begun "
    r"(?P<at>\S+), mark (?P<mark>[0-9a-f]{16}) (?P<digest>[0-9a-f]{32})"
)
_LINE = re.compile(
    r"(?P<seq>[1-9][0-9]{0,8})(?P<goes_on>[.+]) (?P<at>\S+) (?P<kind>[A-Za-z]{1,40}) "
    r"(?P<said>\{.*\}) (?P<digest>[0-9a-f]{32})"
)


class Line(NamedTuple):
    """One event: `ends` says that its answer is whole with it; `said` is JSON."""

    seq: int
    ends: bool
    at: str
    kind: str
    said: str
    digest: str = ""


class Head(NamedTuple):
    """What the first line says."""

    job: int
    edition: int
    begun: str
    digest: str


class Best(NamedTuple):
    """What two copies of a file come to.

    `texts` are the good lines in order, the first among them, `lines` the same read
    without the first; `gaps` are the places in `lines` before which something is lost;
    `mended` counts lines that the first copy did not have right, `spare` those that the
    second did not. `torn` counts lines at the end whose answer was never whole.
    """

    texts: tuple[str, ...]
    lines: tuple[Line, ...]
    gaps: tuple[int, ...] = ()
    lost: int = 0
    mended: int = 0
    spare: int = 0
    torn: int = 0

    @property
    def is_sound(self) -> bool:
        """Whether both copies are whole, and alike."""
        return not (self.lost or self.mended or self.spare or self.torn)

    @property
    def is_missing_in_second(self) -> bool:
        """Whether the first copy is whole, and the second has nothing of it."""
        return self.spare == len(self.texts) and not (
            self.lost or self.mended or self.torn
        )


def write_head(job: int, at: str, mark: str) -> str:
    """The first line of a job's file; `mark` is 16 hexadecimal digits of its own."""
    body = f"chock job {job}, edition {EDITION}, begun {at}, mark {mark}"
    return f"{body} {_digest('', body)}"


def read_head(text: str) -> Head | None:
    """What a first line says; None for one that is damaged."""
    found = _HEAD.fullmatch(text)
    if found is None or found["digest"] != _digest("", _body(text)):
        return None
    return Head(int(found["job"]), int(found["edition"]), found["at"], found["digest"])


def write_line(before: str, line: Line) -> str:
    """The line of an event, with the digest that makes it follow the one before."""
    body = f"{line.seq}{'.' if line.ends else '+'} {line.at} {line.kind} {line.said}"
    return f"{body} {_digest(before, body)}"


def read_line(text: str, before: str) -> Line | None:
    """The event of a line that follows the digest before it; None for another."""
    line = parsed(text)
    follows = line and line.digest == _digest(before, _body(text))
    return line if follows else None


def parsed(text: str) -> Line | None:
    """What a line says, whatever it follows."""
    found = _LINE.fullmatch(text)
    if found is None:
        return None
    seq, ends = int(found["seq"]), found["goes_on"] == "."
    said = found["said"]
    return Line(seq, ends, found["at"], found["kind"], said, found["digest"])


def _body(text: str) -> str:
    return text[: -DIGEST - 1]


def _digest(before: str, body: str) -> str:
    return sha256(f"{before}\n{body}".encode("utf-8", "surrogatepass")).hexdigest()[
        :DIGEST
    ]


def best(job: int, first: Iterable[str], second: Iterable[str]) -> Best | None:
    """Of two copies of a job's lines the better one, line by line.

    A line is good when it follows the good one before it. Where neither copy has one,
    the lines after the gap count again if they follow what is left of the lost one.

    Args:
        job: the number that the file must name.
        first: the lines of one copy; it is taken where both follow.
        second: those of the other.

    Returns:
        None where no first line is left: nothing can be proved of such a file.
    """
    copies = _by_number(job, first), _by_number(job, second)
    head = next((copy[0] for copy in copies if 0 in copy), None)
    if head is None:
        return None
    good: list[tuple[str, Line]] = []
    missing: list[tuple[int, int]] = []
    follows: tuple[str, ...] = (head[-DIGEST:],)
    for seq in range(1, _top(copies) + 1):
        held = [copy.get(seq, "") for copy in copies]
        found = _next(held, follows)
        if found is None:
            left = tuple(text[-DIGEST:] for text in held if text)
            follows = left or follows
            missing.append((seq, len(good)))
        else:
            good.append(found)
            follows = (found[1].digest,)
    last = good[-1][1].seq if good else 0
    # beyond the last good line, a number that one of two copies claims is damage to it
    told = [copy for copy in copies if set(copy) - {0}]
    lost = [at for seq, at in missing if seq < last or all(seq in c for c in told)]
    whole = max((n for n, (_, line) in enumerate(good, 1) if line.ends), default=0)
    texts = (head, *(text for text, _ in good[:whole]))
    mended, spare = (sum(not _holds(c, text) for text in texts) for c in copies)
    lines = tuple(line for _, line in good[:whole])
    gaps = tuple(sorted({at for at in lost if at <= whole}))
    return Best(texts, lines, gaps, len(lost), mended, spare, len(good) - whole)


def _next(held: Iterable[str], follows: Iterable[str]) -> tuple[str, Line] | None:
    """The first of some lines that follows any of some digests."""
    for text in held:
        for digest in follows:
            line = read_line(text, digest)
            if line:
                return text, line
    return None


def _top(copies: Iterable[Mapping[int, str]]) -> int:
    """The highest number that a line can have: a damaged one may claim any."""
    held = [seq for copy in copies for seq in copy]
    return min(max(held), len(held))


def _holds(copy: Mapping[int, str], text: str) -> bool:
    line = parsed(text)
    return copy.get(line.seq if line else 0) == text


def _by_number(job: int, texts: Iterable[str]) -> Mapping[int, str]:
    """The lines that can be read, by number; the first line under 0.

    A line whose number is out of the order in which they stand is damaged: it must not
    pass for one that never was.
    """
    found: dict[int, str] = {}
    rows: list[tuple[int, str]] = []
    for text in filter(None, texts):
        if len(text) <= DIGEST:
            continue
        head = read_head(text)
        line = None if head else parsed(text)
        if head and head.job == job:
            found.setdefault(0, text)
        elif line:
            rows.append((line.seq, text))
    numbers = [0, *(seq for seq, _ in rows)]
    for nth, (seq, text) in enumerate(rows, 1):
        before = numbers[nth - 1]
        after = numbers[nth + 1] if nth < len(rows) else seq + 1
        if not (seq < before or before < after < seq):
            found.setdefault(seq, text)
    return found
