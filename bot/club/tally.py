"""What many devices shared, added up: one vote a device, whatever the order.

A device may vote once for a cause of a page in a month, and twice in all, so that one
that pours out lines says no more than a busy neighbour. Lines that come twice, or
back from an old copy, change nothing. Devices cost nothing to invent: what a pool may
do to a belief is bounded where it is used (`bot.diagnose.learning`), not here.

A device is called by the digest of a secret. Who wants its lines gone publishes the
secret: nobody else could have, so everybody drops the lines, then and ever after.
"""

import re
from collections import Counter
from collections.abc import Mapping
from hashlib import sha256
from types import MappingProxyType
from typing import NamedTuple, TypeVar

from bot.club import lines
from bot.club.outcomes import NONE, UNKNOWN, Clean, Read, read

T = TypeVar("T")

MOST_VOTES = 2
"""So often one device speaks for one cause of a page, in as many months: alone it then
moves no cause by five points. Our choice."""

MOST_SAID = 20
"""So many wordings of one page are taken from one device. Our choice."""

FEWEST_DEVICES = 5
"""A figure that fewer devices are in is shown to nobody: it would tell of people."""

SECRET = lines.Grammar("the paper of a forgotten device", ("club", "secret"))
DEVICE = re.compile(r"[0-9a-f]{32}")
_DIGEST = re.compile(r"[0-9a-f]{64}")


class Figure(NamedTuple):
    """The votes for one cause, and of how many devices."""

    votes: int
    devices: int


Pages = Mapping[str, Mapping[str, Figure]]
"""By page, by cause ("" for none of those it names)."""

Said = Mapping[str, Mapping[str, int]]
"""By page, by wording, by how many devices."""


class Tally(NamedTuple):
    """What all devices shared; `skipped` counts lines and files that say nothing."""

    pages: Pages = MappingProxyType({})
    said: Said = MappingProxyType({})
    skipped: int = 0

    def pool(self, page: str) -> Mapping[str, int]:
        """The votes on a page, by cause: for learning, not to be shown."""
        return votes_in(self.pages.get(page, {}))

    def shown(self, page: str) -> Mapping[str, int]:
        """The votes on a page that may be shown, by cause."""
        return fit_to_show(self.pages.get(page, {}))


def votes_in(figures: Mapping[str, Figure]) -> dict[str, int]:
    """All votes, by cause."""
    return {cause: figure.votes for cause, figure in figures.items()}


def fit_to_show(figures: Mapping[str, Figure]) -> dict[str, int]:
    """The votes that enough devices are in, by cause; no sum that tells the others."""
    kept = (item for item in figures.items() if item[1].devices >= FEWEST_DEVICES)
    return {cause: figure.votes for cause, figure in kept}


class OfDevice(NamedTuple):
    """What one device adds: by page its votes by cause, and by page its wordings."""

    votes: Mapping[str, Mapping[str, int]]
    said: Mapping[str, tuple[str, ...]]


def of_device(told: Read) -> OfDevice:
    """What one device's lines add; a cause that is not known is no vote."""
    months = {
        (one.page, "" if one.cause == NONE else one.cause, one.month)
        for one in told.outcomes
        if one.cause != UNKNOWN
    }
    votes: dict[str, dict[str, int]] = {}
    for (page, cause), often in Counter((p, c) for p, c, _ in months).items():
        votes.setdefault(page, {})[cause] = min(often, MOST_VOTES)
    said: dict[str, set[str]] = {}
    for one in told.wordings:
        said.setdefault(one.page, set()).add(one.words)
    kept = {page: tuple(sorted(words)[:MOST_SAID]) for page, words in said.items()}
    return OfDevice(votes, kept)


def nothing(words: str) -> bool:
    """Where nobody can look through a wording, none is taken."""
    return False


def tally(
    files: Mapping[str, str],
    forgotten: Mapping[str, str] = MappingProxyType({}),
    clean: Clean = nothing,
) -> Tally:
    """What all devices shared.

    Args:
        files: by device the text of its file.
        forgotten: by device the paper that is to prove that it is to be forgotten.
        clean: looks a wording through.
    """
    gone = {
        who
        for who, published in forgotten.items()
        if proves(who, published.encode("utf-8", "replace"))
    }
    figures: dict[str, dict[str, Figure]] = {}
    said: dict[str, Counter[str]] = {}
    skipped = 0
    for device, text in files.items():
        if device in gone:
            continue
        if not DEVICE.fullmatch(device):
            skipped += 1
            continue
        told = read(text)
        skipped += told.skipped
        added = of_device(told)
        add(figures, added, 1)
        for page, words in added.said.items():
            kept = Counter(one for one in words if clean(one))
            said.setdefault(page, Counter()).update(kept)
    return Tally(_sorted(figures), _sorted(said), skipped)


def add(figures: dict[str, dict[str, Figure]], of: OfDevice, sign: int) -> None:
    """Add the votes of one device, or with `sign` -1 take them away."""
    for page, causes in of.votes.items():
        here = figures.setdefault(page, {})
        for cause, votes in causes.items():
            old = here.get(cause, Figure(0, 0))
            here[cause] = Figure(old.votes + sign * votes, old.devices + sign)


def _sorted(found: Mapping[str, Mapping[str, T]]) -> dict[str, dict[str, T]]:
    """The same in one order, whatever order it was found in."""
    return {page: dict(sorted(of.items())) for page, of in sorted(found.items()) if of}


def device_id(secret: str, club: str) -> str:
    """What the device with that secret is called in that club: 32 hexadecimal digits.

    Each club has a secret of its own, so that one published tells nothing of others.
    """
    return sha256(f"{secret} {club}".encode()).hexdigest()[:32]


def paper(secret: str, club: str) -> bytes:
    """What is published to have a device's lines dropped.

    Raises:
        PaperError: one of the two is no digest.
    """
    data = lines.write((("club", club), ("secret", secret)), SECRET)
    secret_of(data)
    return data


def secret_of(data: bytes) -> tuple[str, str]:
    """The secret and the club that such a paper names.

    Raises:
        PaperError: it is none.
    """
    said = lines.read(data, SECRET)
    (club,), (secret,) = said["club"], said["secret"]
    if not (_DIGEST.fullmatch(club) and _DIGEST.fullmatch(secret)):
        raise lines.PaperError(
            "the paper of a forgotten device: a digest in it is damaged; "
            "ask its sender for a whole one"
        )
    return secret, club


def proves(device: str, data: bytes) -> bool:
    """Whether a paper was published by the device itself, to be forgotten."""
    try:
        return device_id(*secret_of(data)) == device
    except lines.PaperError:
        return False
