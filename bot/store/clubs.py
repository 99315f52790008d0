"""What this member keeps of the club: the rule that was accepted, and what was seen.

Kept in the person's own store, where no pack and no git can reach: an older rule, an
older page or a page that was withdrawn is known again, whatever comes in.
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from bot.club import lines
from bot.club.rule import Rule, read_rule
from bot.club.signoff import Bytes
from bot.club.standing import NOTHING_SEEN, Seen
from bot.store.files import read_whole, sync_folder, write_whole

if TYPE_CHECKING:
    from collections.abc import Mapping

MEMORY, SEEN = "memory.txt", "seen.txt"
MOST_SEEN_BYTES = 8_000_000

GRAMMAR = lines.Grammar(
    "what is remembered of the club",
    ("club", "rule", "pen", "number", "packed", "remote"),
    frozenset({"packed"}),
    frozenset({"pen", "remote"}),
)


class Memory(NamedTuple):
    """What is kept of a club beside its rule.

    `club` is its id, `rule` the digest of the rule in force, `pen` this member's name
    in it, `number` that of the last pack made here; `packed` by packer's key the
    highest number that was seen; `remote` where git exchanges with.
    """

    club: str
    rule: str
    pen: str = ""
    number: int = 0
    packed: Mapping[str, int] = MappingProxyType({})
    remote: str = ""


def folder(home: str) -> Path:
    """Where all of it lies."""
    return Path(home, "club")


def memory(home: str) -> Memory | None:
    """What is kept; None for a member of no club.

    Raises:
        PaperError: it is damaged.
    """
    try:
        said = lines.read(read_whole(folder(home) / MEMORY), GRAMMAR)
    except FileNotFoundError:
        return None
    try:
        packed = dict(text.split(" ") for text in said["packed"])
        number, known = int(said["number"][0]), {k: int(n) for k, n in packed.items()}
    except ValueError:
        raise lines.PaperError(
            f"{folder(home) / MEMORY} is damaged; bring back a copy of that folder"
        ) from None
    return Memory(
        said["club"][0],
        said["rule"][0],
        "".join(said["pen"]),
        number,
        known,
        "".join(said["remote"]),
    )


def remember(home: str, kept: Memory) -> None:
    """Keep it.

    Raises:
        OSError: nothing was changed.
        PaperError: something in it is no line of text.
    """
    data = lines.write(
        (
            ("club", kept.club),
            ("rule", kept.rule),
            ("pen", kept.pen),
            ("number", str(kept.number)),
            ("packed", tuple(f"{key} {n}" for key, n in sorted(kept.packed.items()))),
            ("remote", kept.remote),
        ),
        GRAMMAR,
    )
    folder(home).mkdir(mode=0o700, parents=True, exist_ok=True)
    write_whole(folder(home) / MEMORY, data.decode("utf-8"))


def rule(home: str, kept: Memory) -> Rule | None:
    """The rule that was accepted last; None where it is gone or damaged."""
    try:
        found = read_rule(read_whole(folder(home) / f"rule-{kept.rule[:12]}.txt"))
    except (OSError, lines.PaperError):
        return None
    return found.of_club(kept.club) if found.digest == kept.rule else None


def accept(home: str, kept: Memory, text: bytes) -> Memory:
    """From now on that rule is in force here; what is kept then comes back.

    Raises:
        OSError: the rule before is in force.
    """
    digest = sha256(text).hexdigest()
    folder(home).mkdir(mode=0o700, parents=True, exist_ok=True)
    name = f"rule-{digest[:12]}.txt"
    write_whole(folder(home) / name, text.decode("utf-8"))
    now = kept._replace(rule=digest)
    remember(home, now)
    for path in folder(home).glob("rule-*.txt"):
        if path.name != name:
            path.unlink(missing_ok=True)
    return now


def seen(home: str, page: str) -> Seen:
    """What was seen of a page before; a line that is damaged says nothing."""
    try:
        kept = read_whole(folder(home) / SEEN, MOST_SEEN_BYTES)
    except OSError:
        return NOTHING_SEEN
    at = kept.rfind(f"\n{page} ".encode())
    if at < 0:
        return NOTHING_SEEN
    ends = kept.find(b"\n", at + 1)
    return _seen(kept[at + 1 : ends].decode("utf-8", "replace")) or NOTHING_SEEN


def note_seen(home: str, found: Mapping[str, Seen]) -> None:
    """Keep what is seen of some pages now, in place of what was seen before.

    Raises:
        OSError: nothing was changed.
    """
    path = folder(home) / SEEN
    try:
        kept = read_whole(path, MOST_SEEN_BYTES).decode("utf-8", "replace").split("\n")
    except FileNotFoundError:
        kept = []
    rows = {line.split(" ")[0]: line for line in kept if line}
    for page, one in found.items():
        rows[page] = " ".join(
            (
                page,
                str(one.revision),
                one.bytes.page or "-",
                one.bytes.wordings or "-",
                str(one.withdrawn),
                lines.one_line(one.why) or "-",
            )
        )
    write_whole(path, "\n" + "".join(f"{rows[page]}\n" for page in sorted(rows)))
    sync_folder(path.parent)


def _seen(line: str) -> Seen | None:
    parts = line.split(" ", 5)
    if len(parts) != 6 or not (parts[1].isdecimal() and parts[4].isdecimal()):
        return None
    _, revision, page, wordings, withdrawn, why = parts
    return Seen(int(revision), Bytes(page, wordings), int(withdrawn), why)
