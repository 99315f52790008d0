"""Signed papers against the standard's own example and a second library."""

import json
import random
from base64 import b64encode

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from securesystemslib.dsse import Envelope as TheirEnvelope
from securesystemslib.exceptions import VerificationError
from securesystemslib.signer._crypto_signer import CryptoSigner
from securesystemslib.signer._key import SSlibKey

from bot.club.envelope import (
    Envelope,
    EnvelopeError,
    Signature,
    key_id,
    parse,
    pre_auth,
    read,
    write,
)
from bot.store.keys import ALWAYS_FITS, IDENTITY_POINT, Key, checks, is_weak

CASES = 1_000
KIND = "application/vnd.chock.sign-off"

# Ed25519's eight points of small order, as RFC 8032 encodes them. Published in
# curve lists; from memory, and each is shown to be one: a fixed signature fits
SMALL_ORDER = (
    "0100000000000000000000000000000000000000000000000000000000000000",
    "0000000000000000000000000000000000000000000000000000000000000000",
    "0000000000000000000000000000000000000000000000000000000000000080",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85",
)


def a_key(seed: int) -> Key:
    raw = random.Random(seed).randbytes(32)
    return Key(Ed25519PrivateKey.from_private_bytes(raw))


def test_pre_auth_is_that_of_the_standards_example() -> None:
    """DSSE 1.0.2, `protocol.md`: "Test Vectors" (seen)."""
    made = pre_auth("http://example.com/HelloWorld", b"hello world")

    assert made == b"DSSEv1 29 http://example.com/HelloWorld 11 hello world"


def their_key(key: Key) -> SSlibKey:
    public = {"public": key.public.hex()}
    return SSlibKey(key.id, "ed25519", "ed25519", public)


def test_envelopes_of_ours_are_right_to_the_second_library_and_wrong_when_changed() -> (
    None
):
    draw = random.Random(1)
    key = a_key(0)
    for case in range(CASES // 2):
        payload = draw.randbytes(draw.randrange(0, 300))
        ours = key.sign(KIND, payload)
        theirs = TheirEnvelope.from_dict(json.loads(write(ours)))

        assert theirs.verify([their_key(key)], 1), case

        theirs.payload += b"x"
        with pytest.raises(VerificationError):
            theirs.verify([their_key(key)], 1)


def test_envelopes_of_the_second_library_are_right_to_us_and_wrong_when_changed() -> (
    None
):
    draw = random.Random(2)
    private = Ed25519PrivateKey.from_private_bytes(draw.randbytes(32))
    key = Key(private)
    signer = CryptoSigner(private, their_key(key))
    for case in range(CASES // 2):
        payload = draw.randbytes(draw.randrange(0, 300))
        theirs = TheirEnvelope(payload, KIND, {})
        theirs.sign(signer)
        ours = parse(json.dumps(theirs.to_dict()).encode())

        assert ours.signers({key.id: key.public}, checks) == {key.id}, case

        changed = ours._replace(payload=ours.payload + b"x")
        other = ours._replace(kind="application/vnd.chock.rule")
        assert not changed.signers({key.id: key.public}, checks)
        assert not other.signers({key.id: key.public}, checks)


def test_a_changed_byte_of_an_envelope_makes_it_none() -> None:
    key = a_key(3)
    data = write(key.sign(KIND, b"page: cards/brakes/brake-drags.md\n"))
    for at in range(len(data)):
        for flip in (1, 32, 128):
            changed = bytearray(data)
            changed[at] ^= flip
            try:
                found = read(bytes(changed), KIND)
            except EnvelopeError:
                continue

            assert not found.signers({key.id: key.public}, checks), at


def test_a_key_is_called_by_what_it_is_and_not_by_what_is_said_of_it() -> None:
    good, bad = a_key(4), a_key(5)
    forged = bad.sign(KIND, b"x").signatures[0]
    named = Envelope(KIND, b"x", (Signature(good.id, forged.signature),))

    assert key_id(good.public) == good.id
    assert not named.signers({good.id: good.public}, checks)


@pytest.mark.parametrize("point", SMALL_ORDER)
def test_a_key_for_which_anybody_can_sign_is_weak(point: str) -> None:
    assert is_weak(bytes.fromhex(point))


def test_the_weakest_key_is_told_and_an_honest_one_is_not() -> None:
    assert checks(IDENTITY_POINT, ALWAYS_FITS, b"any message at all")
    assert is_weak(IDENTITY_POINT)
    assert not is_weak(a_key(6).public)


ODD = (
    b"",
    b"[]",
    b"{}",
    b"null",
    b"[" * 100_000,
    b'{"payloadType": 1, "payload": "", "signatures": []}',
    b'{"payloadType": "x", "payload": "!", "signatures": [{}]}',
    b'{"payloadType": NaN}',
    b'{"payload": "", "payload": "", "payloadType": "x", "signatures": []}',
    b"\xff\xfe",
    json.dumps(
        {
            "payloadType": KIND,
            "payload": "eA==",
            "signatures": [
                {"keyid": "a", "sig": b64encode(bytes(64)).decode()} for _ in range(17)
            ],
        }
    ).encode(),
    b"x" * 200_000,
)


@pytest.mark.parametrize("data", ODD)
def test_what_is_no_envelope_is_refused_in_a_sentence(data: bytes) -> None:
    with pytest.raises(EnvelopeError, match="a signature cannot be read"):
        read(data, KIND)


@pytest.mark.parametrize("name", [[], {}, None, 7, "", "A" * 64, "0" * 63])
def test_a_signature_that_names_no_key_makes_no_envelope(name: object) -> None:
    tree = json.loads(write(a_key(7).sign(KIND, b"x")))
    tree["signatures"][0]["keyid"] = name

    with pytest.raises(EnvelopeError, match="cannot be read"):
        read((json.dumps(tree, indent=1) + "\n").encode(), KIND)
