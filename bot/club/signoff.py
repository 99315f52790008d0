"""A sign-off: one reviewer's signed word on one exact revision of a page.

It names the bytes of the page and of the wordings beside it by their digests, so that a
changed letter in either is seen. A withdrawal is a sign-off too.
"""

import re
from datetime import date
from enum import Enum
from typing import NamedTuple

from bot.club import lines

KIND = "application/vnd.chock.sign-off"
NONE = "none"
"""Instead of the digest of wordings where a page has none beside it."""

MOST_REVISION = 9_999

GRAMMAR = lines.Grammar(
    "a sign-off",
    (
        "club",
        "page",
        "revision",
        "page bytes",
        "wordings bytes",
        "verdict",
        "date",
        "check by",
        "remark",
    ),
    optional=frozenset({"remark"}),
)
_DIGEST = re.compile(r"[0-9a-f]{64}")
_REVISION = re.compile(r"[1-9][0-9]{0,3}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class Said(Enum):
    """What a reviewer says of a page."""

    VETTED = "vetted"
    WITHDRAWN = "withdrawn"


class Bytes(NamedTuple):
    """Digests of what a page is: its own bytes, and those of the wordings beside it."""

    page: str
    wordings: str = NONE


class Text(NamedTuple):
    """A page as it is read: its path in the knowledge base, and what it is."""

    page: str
    bytes: Bytes


class SignOff(NamedTuple):
    """What a reviewer signed; `remark` is the reason of a withdrawal."""

    club: str
    page: str
    revision: int
    bytes: Bytes
    says: Said
    day: date
    check_by: date
    remark: str = ""


class Signed(NamedTuple):
    """A sign-off whose signature is proved, and the id of the key that made it."""

    signoff: SignOff
    key: str


def write_signoff(one: SignOff) -> bytes:
    """The text that is signed.

    Raises:
        PaperError: it cannot be said so.
    """
    data = lines.write(
        (
            ("club", one.club),
            ("page", one.page),
            ("revision", str(one.revision)),
            ("page bytes", one.bytes.page),
            ("wordings bytes", one.bytes.wordings),
            ("verdict", one.says.value),
            ("date", one.day.isoformat()),
            ("check by", one.check_by.isoformat()),
            ("remark", one.remark),
        ),
        GRAMMAR,
    )
    read_signoff(data)
    return data


def read_signoff(data: bytes) -> SignOff:
    """What a signed text says.

    Raises:
        PaperError: it is no sign-off.
    """
    said = {name: "".join(value) for name, value in lines.read(data, GRAMMAR).items()}
    digests = (said["club"], said["page bytes"])
    wordings = said["wordings bytes"]
    if not all(map(_DIGEST.fullmatch, digests)) or not (
        wordings == NONE or _DIGEST.fullmatch(wordings)
    ):
        raise _refused("a digest in it is damaged")
    if not _REVISION.fullmatch(said["revision"]):
        raise _refused("its revision is no number")
    days = (said["date"], said["check by"])
    try:
        if not all(map(_DATE.fullmatch, days)):
            raise ValueError
        day, check_by = map(date.fromisoformat, days)
        says = Said(said["verdict"])
    except ValueError:
        raise _refused("a date or its verdict cannot be read") from None
    return SignOff(
        said["club"],
        said["page"],
        int(said["revision"]),
        Bytes(said["page bytes"], wordings),
        says,
        day,
        check_by,
        said["remark"],
    )


def _refused(why: str) -> lines.PaperError:
    return lines.PaperError(f"a sign-off: {why}; ask for it anew")
