"""A reviewer's key: kept encrypted under a pass-phrase, in one's own store alone.

The cryptography is a library's (`cryptography`: Ed25519, PKCS#8 with its encryption).
It is an extra: without it all else works, and no signature is believed.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from bot.club.envelope import SIGNATURE_BYTES, Envelope, Signature, key_id, pre_auth
from bot.model.place import BotError
from bot.store.files import read_whole, sync_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

NOT_INSTALLED = "signature check not installed"
HOW_TO_INSTALL = (
    "signatures need the package 'cryptography'; set chock up with it: "
    "pip install 'chock[sign]'"
)
SHORTEST = 12
"""Letters of the shortest pass-phrase that is taken. Our choice."""

MOST_BYTES = 4_096
KEY = "key.pem"

IDENTITY_POINT = b"\x01" + bytes(31)
ALWAYS_FITS = IDENTITY_POINT + bytes(32)
"""The signature that a weak key lets pass for any message: R the identity, S zero."""


class LockedError(BotError):
    """A key cannot be used, and what to do."""


def installed() -> bool:
    """Whether signatures can be made and checked here."""
    try:
        import cryptography.hazmat.primitives.asymmetric.ed25519  # noqa: F401
    except ImportError:
        return False
    return True


def checks(key: bytes, signature: bytes, message: bytes) -> bool:
    """Whether that key signed that message; where nothing can be checked it did not."""
    try:
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    except ImportError:
        return False
    if len(signature) != SIGNATURE_BYTES:
        return False
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def is_weak(key: bytes) -> bool:
    """Whether a fixed signature fits messages under that key: anybody could sign.

    A point of order eight lets it pass for every eighth message, an honest key never.
    """
    return any(checks(key, ALWAYS_FITS, b"%d" % n) for n in range(TRIED))


TRIED = 160
"""Messages: (7/8)^160 is the chance that a weak key is not seen."""


class Key:
    """A reviewer's own key, unlocked."""

    def __init__(self, private: Ed25519PrivateKey) -> None:
        from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

        self._private = private
        self.public = private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)

    @property
    def id(self) -> str:
        """What the key is called."""
        return key_id(self.public)

    def sign(self, kind: str, payload: bytes) -> Envelope:
        """An envelope of that payload, signed."""
        signature = self._private.sign(pre_auth(kind, payload))
        return Envelope(kind, payload, (Signature(self.id, signature),))


def key_path(home: str) -> Path:
    """Where one's own key lies."""
    return Path(home, "club", KEY)


def has_key(home: str) -> bool:
    """Whether there is a key of one's own."""
    return key_path(home).exists()


def make_key(home: str, phrase: str) -> Key:
    """A fresh key, kept in the store under a pass-phrase.

    Raises:
        LockedError: there is one already, the pass-phrase is too short, or the library
            is not there.
    """
    if not installed():
        raise LockedError(HOW_TO_INSTALL)
    if has_key(home):
        raise LockedError(
            f"there is a key already: {key_path(home)}; move it away to make another"
        )
    if len(phrase) < SHORTEST:
        raise LockedError(
            f"a pass-phrase has at least {SHORTEST} letters; take four or five words "
            "that only you would put together"
        )
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import (
        BestAvailableEncryption,
        Encoding,
        PrivateFormat,
    )

    private = Ed25519PrivateKey.generate()
    kept = private.private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(phrase.encode())
    )
    _write_private(key_path(home), kept)
    return Key(private)


def _write_private(path: Path, data: bytes) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.new")
    beside.unlink(missing_ok=True)
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
    sync_folder(path.parent)


def open_key(home: str, phrase: str) -> Key:
    """One's own key, unlocked.

    Raises:
        LockedError: there is none, it is damaged, or the pass-phrase is another.
    """
    if not installed():
        raise LockedError(HOW_TO_INSTALL)
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    path = key_path(home)
    try:
        kept = read_whole(path, MOST_BYTES)
    except FileNotFoundError:
        raise LockedError(
            "there is no key of yours here; make one: chock club key YOUR-PEN-NAME"
        ) from None
    except OSError as error:
        raise LockedError(
            f"your key {path} cannot be read ({error.strerror}); bring back a copy"
        ) from None
    try:
        private = load_pem_private_key(kept, phrase.encode())
    except (ValueError, TypeError, UnsupportedAlgorithm):
        raise LockedError(
            f"the pass-phrase does not open {path}; try again, or bring back a copy"
        ) from None
    if not isinstance(private, Ed25519PrivateKey):
        raise LockedError(f"{path} holds no Ed25519 key; bring back your own")
    return Key(private)
