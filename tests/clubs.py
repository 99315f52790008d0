"""A small club for tests: keys, a rule, a page and sign-offs under it."""

import random
import shutil
from dataclasses import replace
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from bot.club.rule import NONE, Reviewer, Rule, read_rule, write_rule
from bot.club.signoff import (
    KIND,
    Bytes,
    Said,
    Signed,
    SignOff,
    Text,
    read_signoff,
    write_signoff,
)
from bot.store.keys import Key, checks

PAGE = "cards/brakes/brake-drags.md"
OF = Text(PAGE, Bytes(sha256(b"a page").hexdigest(), sha256(b"beside").hexdigest()))
DAY, LATER = date(2026, 12, 1), date(2028, 11, 30)


def a_key(pen: str) -> Key:
    raw = random.Random(pen).randbytes(32)
    return Key(Ed25519PrivateKey.from_private_bytes(raw))


def reviewer(pen: str, *systems: str) -> Reviewer:
    return Reviewer(pen, a_key(pen).public, systems)


def rule(*reviewers: Reviewer, needs: int = 2) -> Rule:
    """The first version of a club's rule, read back as members read it."""
    who = reviewers or (reviewer("Moss"), reviewer("Wren"), reviewer("Sedge"))
    name = "Marram Coast Truck Club"
    first = read_rule(write_rule(Rule(name, 1, NONE, DAY, who, {"": needs})))
    return first.of_club(first.digest)


def word(of: Rule, **other: Any) -> SignOff:  # noqa: ANN401 - any field of it
    """What a reviewer says when all is right, but for what is given."""
    said = SignOff(of.club_id, PAGE, 1, OF.bytes, Said.VETTED, DAY, LATER)
    return said._replace(**other)


def signed(said: SignOff, *keys: Key) -> list[Signed]:
    """That word, signed by keys, read and proved as a window does."""
    made = [(key, key.sign(KIND, write_signoff(said))) for key in keys]
    return [
        Signed(read_signoff(one.payload), proved)
        for key, one in made
        for proved in one.signers({key.id: key.public}, checks)
    ]


def after(of: Rule, changed: Rule) -> Rule:
    """The next version of a rule, as it is written and read."""
    wanted = replace(changed, version=of.version + 1, follows=of.digest)
    return read_rule(write_rule(wanted)).of_club(of.club_id)


def a_kb(root: Path) -> str:
    """A small knowledge base: two pages with wordings, and the words files."""
    here = Path(__file__).parent.parent / "kb"
    for name in (
        "cards/brakes/brake-drags.md",
        "cards/brakes/brake-drags.wordings.txt",
        "cards/cab-body/horn-weak.md",
        "stop-rules/no-brakes.md",
    ):
        if (here / name).exists():
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(here / name, root / name)
    (root / "contents.txt").write_text("")
    return str(root)
