"""A pack: one plain-text file with chosen files of a knowledge base in it.

Nothing is compressed, nothing is unfolded: a head that lists each file with its length
and digest, then the files' bytes one behind the other, then a seal over all of it.

    chock pack 1
    club: (digest of the club's first rule, or none)
    number: 7
    made: 2026-12-01
    file: cards/brakes/brake-drags.md 8123 (SHA-256)
    by: (id of the packer's key) (signature of the lines above)
    ---
    (the bytes)
    seal: (SHA-256 of all that stands before this line)

The seal shows any damage on the way. Who vouches for a page is told by the sign-offs
among the files, not by who packed it; the packer's signature tells old packs from new.
"""

import re
from base64 import b64decode, b64encode
from binascii import Error as NotBase64
from collections.abc import Mapping
from datetime import date
from hashlib import sha256
from typing import NamedTuple

from bot.club import lines
from bot.club.envelope import SIGNATURE_BYTES, Envelope, Signature
from bot.club.names import in_pack, most_bytes
from bot.model.place import BotError

KIND = "application/vnd.chock.pack"
FIRST = b"chock pack 1\n"
NONE = "none"
MOST_BYTES = 32 * 1024 * 1024
MOST_FILES = 4_000
MOST_HEAD = 1_024 * 1_024
END_OF_HEAD = b"---\n"
SEAL = b"seal: "

GRAMMAR = lines.Grammar(
    "the head of the pack",
    ("club", "number", "made", "remark", "file", "by"),
    frozenset({"file", "by"}),
    frozenset({"remark"}),
    MOST_HEAD,
    MOST_FILES + 20,
)
_FILE = re.compile(r"(?P<name>\S{1,200}) (?P<size>[0-9]{1,8}) (?P<digest>[0-9a-f]{64})")
_BY = re.compile(r"(?P<key>[0-9a-f]{64}) (?P<signature>[A-Za-z0-9+/]{86}==)")
_CLUB = re.compile(rf"{NONE}|[0-9a-f]{{64}}")
_NUMBER = re.compile(r"[1-9][0-9]{0,6}")


class PackError(BotError):
    """A pack that is refused whole, and why."""


class Pack(NamedTuple):
    """What a pack holds: `files` by their path in a knowledge base.

    `club` is "none" where it was made without one. `number` rises with each pack that
    one hand makes. `signed` is what a packer's key signed, None where no key did.
    """

    club: str
    number: int
    made: date
    files: Mapping[str, bytes]
    remark: str = ""
    signed: Envelope | None = None


def head_of(pack: Pack) -> bytes:
    """The lines that a packer signs.

    Raises:
        PaperError: something in it cannot be said so.
    """
    listed = (
        f"{name} {len(data)} {sha256(data).hexdigest()}"
        for name, data in sorted(pack.files.items())
    )
    return lines.write(
        (
            ("club", pack.club),
            ("number", str(pack.number)),
            ("made", pack.made.isoformat()),
            ("remark", pack.remark),
            ("file", tuple(listed)),
        ),
        GRAMMAR,
    )


def write_pack(pack: Pack) -> bytes:
    """The bytes of a pack.

    Raises:
        BotError: it holds what no pack may, or too much.
    """
    by = pack.signed.signatures if pack.signed else ()
    signed = "".join(f"by: {one.key_id} {_said(one.signature)}\n" for one in by)
    body = b"".join(data for _, data in sorted(pack.files.items()))
    whole = FIRST + head_of(pack) + signed.encode() + END_OF_HEAD + body
    data = whole + _seal(whole)
    read_pack(data)
    return data


def read_pack(data: bytes) -> Pack:
    """What a pack holds; all of it is looked at before any of it is used.

    Raises:
        PackError: it is refused, whole; nothing of it may be used.
    """
    if len(data) > MOST_BYTES:
        raise PackError(
            f"refused: the pack is longer than {MOST_BYTES >> 20} MiB; ask for parts"
        )
    if not data.startswith(FIRST):
        raise PackError(
            "refused: this is no pack; give the file that 'chock club pack' wrote"
        )
    head, body = _parted(data)
    said = _read_head(head)
    listed = [_listed(text) for text in said["file"]]
    _names_agree([name for name, _, _ in listed])
    files = _cut(listed, body)
    pack = Pack(
        _matched(_CLUB, said["club"][0]),
        int(_matched(_NUMBER, said["number"][0])),
        _day(said["made"][0]),
        files,
        "".join(said["remark"]),
    )
    by = tuple(_by(text) for text in said["by"])
    return pack._replace(signed=Envelope(KIND, head_of(pack), by)) if by else pack


def _seal(whole: bytes) -> bytes:
    return b"%b%b\n" % (SEAL, sha256(whole).hexdigest().encode())


def _parted(data: bytes) -> tuple[bytes, bytes]:
    """The head and the files of a pack whose seal is right."""
    at = len(data) - len(SEAL) - 65
    if at < len(FIRST) or data[at:] != _seal(data[:at]):
        raise PackError(
            "refused: the pack was damaged on its way; send it as an attachment or on "
            "a stick, not as the text of a letter"
        )
    ends = data.find(b"\n" + END_OF_HEAD, 0, MOST_HEAD)
    if ends < 0:
        raise PackError("refused: the pack has no end of its head; ask for it anew")
    return data[len(FIRST) : ends + 1], data[ends + 1 + len(END_OF_HEAD) : at]


def _read_head(head: bytes) -> lines.Values:
    try:
        return lines.read(head, GRAMMAR)
    except lines.PaperError as why:
        raise PackError(f"refused: {why}") from None


def _listed(text: str) -> tuple[str, int, str]:
    found = _FILE.fullmatch(text)
    if found is None or found["size"] != str(int(found["size"])):
        raise PackError(f"refused: 'file: {text[:60]}' is not understood; ask anew")
    name, size = found["name"], int(found["size"])
    if not in_pack(name):
        raise PackError(
            f"refused: '{name[:80]}' may not lie in a knowledge base; throw it away, "
            "or ask its maker"
        )
    if size > most_bytes(name):
        raise PackError(
            f"refused: '{name}' is longer than {most_bytes(name) >> 10} KiB; ask its "
            "maker for a shorter one"
        )
    return name, size, found["digest"]


def _names_agree(names: list[str]) -> None:
    if not names:
        raise PackError("refused: the pack is empty; ask its maker")
    if len(names) > MOST_FILES:
        raise PackError(f"refused: more than {MOST_FILES} files; ask for parts")
    if sorted(set(names)) != names:
        raise PackError(
            "refused: a file stands twice in it, or out of order; ask its maker"
        )


def _cut(listed: list[tuple[str, int, str]], body: bytes) -> dict[str, bytes]:
    if sum(size for _, size, _ in listed) != len(body):
        raise PackError("refused: its files have other lengths than its head says")
    files: dict[str, bytes] = {}
    at = 0
    for name, size, digest in listed:
        data = body[at : at + size]
        at += size
        if sha256(data).hexdigest() != digest:
            raise PackError(f"refused: '{name}' is not the file that its head names")
        files[name] = data
    return files


def _by(text: str) -> Signature:
    found = _matched(_BY, text)
    key, said = found.split(" ")
    try:
        signature = b64decode(said, validate=True)
    except NotBase64:
        signature = b""
    if len(signature) != SIGNATURE_BYTES or _said(signature) != said:
        raise PackError("refused: the packer's signature is damaged; ask anew")
    return Signature(key, signature)


def _said(signature: bytes) -> str:
    return b64encode(signature).decode()


def _matched(pattern: re.Pattern[str], text: str) -> str:
    if not pattern.fullmatch(text):
        raise PackError(f"refused: '{text[:60]}' in its head is not understood")
    return text


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise PackError(f"refused: 'made: {text[:20]}' is no date; ask anew") from None
