"""A signed paper: the DSSE envelope, version 1.0.2, with Ed25519 keys.

The envelope is JSON with the payload, its type and the signatures; what is signed is
the type and the payload, each behind its length (`pre_auth`). Who checks a signature is
handed in: this room knows no cryptography.

Source: DSSE 1.0.2, `protocol.md` and `envelope.md` (seen). Ed25519: RFC 8032.
"""

import json
import re
from base64 import b64decode, b64encode
from binascii import Error as NotBase64
from collections.abc import Mapping
from hashlib import sha256
from typing import NamedTuple, Protocol, cast

from bot.model.place import BotError

MOST_BYTES = 131_072
"""The longest envelope: of a paper of 64 KiB, in base64 with what stands round it."""

MOST_SIGNATURES = 16
KEY_BYTES, SIGNATURE_BYTES = 32, 64
_ID = re.compile(r"[0-9a-f]{64}")
"""A key's id: the SHA-256 of its bytes."""


class EnvelopeError(BotError):
    """No envelope, or one that is damaged."""


class Checks(Protocol):
    """Who can tell whether a signature is right."""

    def __call__(self, key: bytes, signature: bytes, message: bytes) -> bool:
        """Whether that key signed that message."""


class Signature(NamedTuple):
    """A signature, and the key that is said to have made it."""

    key_id: str
    signature: bytes


class Envelope(NamedTuple):
    """What an envelope holds; nothing of it is proved."""

    kind: str
    payload: bytes
    signatures: tuple[Signature, ...]

    def signers(self, keys: Mapping[str, bytes], checks: Checks) -> frozenset[str]:
        """Ids of those keys that signed it, each proved and each once.

        Args:
            keys: by id the keys that may count.
            checks: what proves a signature.
        """
        message = pre_auth(self.kind, self.payload)
        return frozenset(
            found.key_id
            for found in self.signatures
            if found.key_id in keys
            and checks(keys[found.key_id], found.signature, message)
        )


def pre_auth(kind: str, payload: bytes) -> bytes:
    """The bytes that are signed.

    >>> pre_auth("http://example.com/HelloWorld", b"hello world")
    b'DSSEv1 29 http://example.com/HelloWorld 11 hello world'
    """
    said = kind.encode("utf-8")
    return b"DSSEv1 %d %b %d %b" % (len(said), said, len(payload), payload)


def key_id(key: bytes) -> str:
    """What a key is called: it is reckoned, never read."""
    return sha256(key).hexdigest()


def write(envelope: Envelope) -> bytes:
    """The text of an envelope, always the same for the same content."""
    tree = {
        "payloadType": envelope.kind,
        "payload": b64encode(envelope.payload).decode(),
        "signatures": [
            {"keyid": one.key_id, "sig": b64encode(one.signature).decode()}
            for one in envelope.signatures
        ],
    }
    return (json.dumps(tree, indent=1) + "\n").encode()


def read(data: bytes, kind: str) -> Envelope:
    """An envelope whose payload is of that kind, as `write` writes it.

    Stricter than the standard, which leaves room: it must be the very text that `write`
    makes of it, so that no byte of it can differ.

    Raises:
        EnvelopeError: it is none.
    """
    envelope = parse(data)
    if envelope.kind != kind:
        raise _refused(f"it signs {envelope.kind[:60]!a}, not '{kind}'")
    if write(envelope) != data:
        raise _refused("it was written by other hands, or changed")
    return envelope


def parse(data: bytes) -> Envelope:
    """What any envelope of the standard holds, signed with keys that are named.

    Raises:
        EnvelopeError: it is none, or bears no signature of Ed25519.
    """
    if len(data) > MOST_BYTES:
        raise _refused("it is too long")
    try:
        tree = json.loads(data, parse_constant=_no_number, object_pairs_hook=_once)
    except (ValueError, RecursionError):
        raise _refused("it is not whole") from None
    try:
        envelope = _held(tree)
    except (KeyError, TypeError, AttributeError, NotBase64, ValueError):
        raise _refused("it says something else than an envelope does") from None
    if not 0 < len(envelope.signatures) <= MOST_SIGNATURES:
        raise _refused("it bears no signature, or too many")
    return envelope


def _held(tree: object) -> Envelope:
    said = cast("dict[str, str]", tree)
    signatures = cast("list[dict[str, str]]", said["signatures"])
    if not isinstance(said["payloadType"], str):
        raise TypeError
    return Envelope(
        said["payloadType"],
        b64decode(said["payload"], validate=True),
        tuple(Signature(_named(s["keyid"]), _signature(s["sig"])) for s in signatures),
    )


def _named(text: str) -> str:
    """A key's id, as it is reckoned: anything else names no key."""
    if not isinstance(text, str) or not _ID.fullmatch(text):
        raise ValueError
    return text


def _signature(text: str) -> bytes:
    found = b64decode(text, validate=True)
    if len(found) != SIGNATURE_BYTES:
        raise ValueError
    return found


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    held = dict(pairs)
    if len(held) < len(pairs):
        raise ValueError
    return held


def _no_number(said: str) -> float:
    raise ValueError(said)


def _refused(why: str) -> EnvelopeError:
    return EnvelopeError(f"a signature cannot be read: {why}; ask for it anew")
