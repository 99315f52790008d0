"""The club's rule: who may vet what, and how many must agree.

Plain text, a file a version. A version is taken over only from the version before it,
by signatures of as many people as *both* ask for; so those who are there admit who is
new, and nobody can be slipped in. The club's id is the digest of its first version:
whoever accepted that, by comparing it with a member by voice, can follow all others.

People are counted, not keys; a key counts for one person; one that is revoked, or no
longer listed, counts no more, old sign-offs of it neither: a thief can write any date.
"""

import re
from base64 import b64decode, b64encode
from binascii import Error as NotBase64
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from hashlib import sha256
from typing import NamedTuple
from unicodedata import normalize

from bot.club import lines
from bot.club.envelope import KEY_BYTES, Checks, Envelope, key_id

KIND = "application/vnd.chock.rule"
MOST_REVIEWERS, MOST_NEEDED = 16, 3
MOST_VERSION = 9_999
NONE = "none"
"""What the first version follows."""

GRAMMAR = lines.Grammar(
    "the club's rule",
    ("club", "version", "follows", "date", "reviewer", "needs", "revoked", "remark"),
    frozenset({"reviewer", "needs", "revoked"}),
    frozenset({"remark"}),
)
_REVIEWER = re.compile(
    r"(?P<pen>[^,:]{1,40}), ed25519 (?P<key>[A-Za-z0-9+/]{43}=)"
    r"(?: for (?P<systems>.+))?"
)
_NEEDS = re.compile(r"(?P<many>[1-3])(?: for (?P<systems>.+))?")
_REVOKED = re.compile(r"(?P<key>[0-9a-f]{64}), (?P<why>.{1,200})")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SYSTEM = re.compile(r"[a-z][a-z0-9-]{0,40}")


class Reviewer(NamedTuple):
    """One who may vet: a pen name, a public key, the systems (none: all)."""

    pen: str
    key: bytes
    systems: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """What the key is called."""
        return key_id(self.key)

    def may_vet(self, system: str) -> bool:
        """Whether a page of that system counts when signed by this key."""
        return not self.systems or system in self.systems


@dataclass(frozen=True, slots=True)
class Rule:
    """One version of the rule, and the digest of its text.

    `needs` by system; "" for all others. `revoked` by key id why. `club_id` is the
    digest of the first version; its own reader cannot know it of a later one.
    """

    club: str
    version: int
    follows: str
    day: date
    reviewers: tuple[Reviewer, ...]
    needs: Mapping[str, int]
    revoked: Mapping[str, str] = field(default_factory=dict)
    remark: str = ""
    digest: str = ""
    club_id: str = ""

    def of_club(self, club_id: str) -> "Rule":
        """The same, known to be of that club."""
        return replace(self, club_id=club_id)

    @property
    def keys(self) -> dict[str, bytes]:
        """The keys that count, by id."""
        return {one.id: one.key for one in self.reviewers}

    def pen(self, key: str) -> str:
        """Whose key that is; "" for a stranger's."""
        return next((one.pen for one in self.reviewers if one.id == key), "")

    def needed(self, system: str = "") -> int:
        """How many people must agree on a page of that system, or on the rule."""
        return self.needs.get(system, self.needs[""])

    def people(self, keys: Iterable[str], system: str = "") -> frozenset[str]:
        """The people behind keys who may vet that system; "" for the rule itself."""
        signed = frozenset(keys)
        return frozenset(
            one.pen
            for one in self.reviewers
            if one.id in signed and (one.may_vet(system) if system else not one.systems)
        )


def read_rule(data: bytes) -> Rule:
    """The rule that a text says.

    Raises:
        PaperError: it is no rule, or cannot hold.
    """
    said = lines.read(data, GRAMMAR)
    rule = Rule(
        said["club"][0],
        _version(said["version"][0]),
        _matched(_FOLLOWS, said["follows"][0], "follows")[0],
        _day(said["date"][0]),
        tuple(reviewer(text) for text in said["reviewer"]),
        _needs(said["needs"]),
        dict(_revoked(text) for text in said["revoked"]),
        "".join(said["remark"]),
        sha256(data).hexdigest(),
    )
    if why := _unsound(rule):
        raise lines.PaperError(f"the club's rule cannot hold: {why}; mend it first")
    return rule


def write_rule(rule: Rule) -> bytes:
    """The text of a rule.

    Raises:
        PaperError: it cannot hold.
    """
    data = lines.write(
        (
            ("club", rule.club),
            ("version", str(rule.version)),
            ("follows", rule.follows),
            ("date", rule.day.isoformat()),
            ("reviewer", [reviewer_said(one) for one in rule.reviewers]),
            ("needs", [_need_said(*need) for need in rule.needs.items()]),
            ("revoked", [f"{key}, {why}" for key, why in rule.revoked.items()]),
            ("remark", rule.remark),
        ),
        GRAMMAR,
    )
    read_rule(data)
    return data


def follows(rule: Rule, before: Rule, signed: Envelope, checks: Checks) -> str:
    """Why a version may not be taken over from the one before it; "" where it may."""
    if rule.follows != before.digest or rule.version != before.version + 1:
        return f"version {rule.version} does not follow version {before.version}"
    if undone := before.revoked.keys() - rule.revoked.keys():
        return f"it no longer revokes the key {min(undone)[:8]}"
    signers = signed.signers(before.keys | rule.keys, checks)
    for of in (before, rule):
        people = of.people(signers)
        if len(people) < of.needed():
            return (
                f"version {rule.version} is signed by {len(people)} of the "
                f"{of.needed()} people that version {of.version} asks for"
            )
    return ""


def begins(rule: Rule, signed: Envelope, checks: Checks) -> str:
    """Why a first version is none; "" where it is."""
    if rule.version != 1 or rule.follows != NONE:
        return "it is not the first version"
    signers = rule.people(signed.signers(rule.keys, checks))
    if len(signers) < rule.needed():
        return f"it is signed by {len(signers)} of the {rule.needed()} that it asks for"
    return ""


def fingerprint(digest: str) -> str:
    """A digest as people read it to each other: eight groups of four.

    >>> fingerprint("00112233445566778899aabbccddeeff" * 2)
    '0011 2233 4455 6677 8899 aabb ccdd eeff'
    """
    return " ".join(digest[n : n + 4] for n in range(0, 32, 4))


_FOLLOWS = re.compile(rf"{NONE}|{_DIGEST.pattern}")


def _matched(pattern: re.Pattern[str], text: str, name: str) -> re.Match[str]:
    found = pattern.fullmatch(text)
    if found is None:
        raise lines.PaperError(
            f"the club's rule: '{name}: {text[:60]}' is not understood; mend that line"
        )
    return found


def _version(text: str) -> int:
    return int(_matched(re.compile(r"[1-9][0-9]{0,3}"), text, "version")[0])


def _day(text: str) -> date:
    try:
        return date.fromisoformat(_matched(_DATE, text, "date")[0])
    except ValueError:
        raise lines.PaperError(
            f"the club's rule: '{text}' is no date; mend that line"
        ) from None


_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def reviewer(text: str) -> Reviewer:
    """The reviewer that a line of the rule names.

    Raises:
        PaperError: it is no such line.
    """
    found = _matched(_REVIEWER, text, "reviewer")
    try:
        key = b64decode(found["key"], validate=True)
    except NotBase64:
        key = b""
    pen = found["pen"]
    if (
        len(key) != KEY_BYTES
        or b64encode(key).decode() != found["key"]
        or pen.isspace()
    ):
        raise lines.PaperError(
            f"the club's rule: the key of '{pen}' is damaged; mend that line"
        )
    return Reviewer(pen, key, _systems(found["systems"], "reviewer"))


def reviewer_said(one: Reviewer) -> str:
    """The line of the rule that names a reviewer."""
    systems = f" for {', '.join(one.systems)}" if one.systems else ""
    return f"{one.pen}, ed25519 {b64encode(one.key).decode()}{systems}"


def _systems(text: str | None, name: str) -> tuple[str, ...]:
    parts = tuple(text.split(", ")) if text else ()
    for part in parts:
        _matched(_SYSTEM, part, name)
    return parts


def _needs(texts: Iterable[str]) -> dict[str, int]:
    needs: dict[str, int] = {}
    for text in texts:
        found = _matched(_NEEDS, text, "needs")
        for system in _systems(found["systems"], "needs") or ("",):
            if system in needs:
                raise lines.PaperError(
                    "the club's rule says twice how many it needs "
                    f"for {system or 'a page'}; keep one"
                )
            needs[system] = int(found["many"])
    return needs


def _need_said(system: str, many: int) -> str:
    return f"{many} for {system}" if system else str(many)


def _revoked(text: str) -> tuple[str, str]:
    found = _matched(_REVOKED, text, "revoked")
    return found["key"], found["why"]


def _unsound(rule: Rule) -> str:
    """Why a rule cannot hold; "" where it can."""
    keys = [one.key for one in rule.reviewers]
    if not 0 < len(keys) <= MOST_REVIEWERS:
        return f"it names no reviewer, or more than {MOST_REVIEWERS}"
    if len(set(keys)) < len(keys):
        return "one key is listed twice"
    if any(one.id in rule.revoked for one in rule.reviewers):
        return "a reviewer's key is revoked in it"
    if "" not in rule.needs:
        return "it does not say how many a page needs"
    for system, many in rule.needs.items():
        able = {one.pen for one in rule.reviewers if one.may_vet(system or ALL)}
        if len(able) < many:
            return f"it asks for {many} where {len(able)} may vet"
    pens = {one.pen for one in rule.reviewers}
    if len({_alike(pen) for pen in pens}) < len(pens):
        return "two pen names look alike"
    return ""


def _alike(pen: str) -> str:
    """What pen names have in common that look alike; other scripts are not seen."""
    return "".join(normalize("NFKC", pen).casefold().split())


ALL = " "
"""A system that no reviewer is named for."""
