"""A member's club: its rule and what waits, its pages and how they stand.

What comes in by pack or git lies in the knowledge base and proves nothing; `catch_up`
takes over what is signed by enough people, and notes what was seen, so that nothing
older is believed later.
"""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from bot.club import envelope, lines
from bot.club.names import PAGE, RULE, RULE_SIGNED
from bot.club.rule import KIND, Rule, begins, fingerprint, follows, read_rule
from bot.club.standing import NOTHING_SEEN, Standing
from bot.desk.standing import Standings
from bot.model.place import BotError
from bot.store import clubs
from bot.store.files import read_whole
from bot.store.keys import HOW_TO_INSTALL, checks, installed

MOST_RULES, MOST_BYTES = 4_000, envelope.MOST_BYTES
"""Files of rules and their signatures that are looked at, and their most bytes."""


class ClubError(BotError):
    """Something cannot be done with the club, and what to do instead."""


NO_CLUB = (
    "there is no club here yet; found one: chock club begin NAME --as YOUR-PEN-NAME, "
    "or join one: chock club join PACK"
)


class Waiting(NamedTuple):
    """A version of the rule that is not in force yet: its text, who signed it."""

    rule: Rule
    text: bytes
    signed: envelope.Envelope | None
    pens: tuple[str, ...]


class Row(NamedTuple):
    """A page of the knowledge base and how it stands."""

    page: str
    standing: Standing


class Club:
    """The club of one member and one knowledge base."""

    def __init__(self, kb: str, home: str) -> None:
        """Open it.

        Raises:
            PaperError: what is remembered of it is damaged.
        """
        self.kb = kb
        self.home = home
        self.memory = clubs.memory(home)
        self.rule = clubs.rule(home, self.memory) if self.memory else None
        self.standings = Standings(kb, home)

    def known(self) -> tuple[clubs.Memory, Rule]:
        """What is kept and the rule in force.

        Raises:
            ClubError: this is a member of no club, or what he kept is damaged.
        """
        if self.memory is None:
            raise ClubError(NO_CLUB)
        if self.rule is None:
            raise ClubError(
                "what is kept of the club's rule is damaged; bring back a copy of "
                f"{clubs.folder(self.home)}, or join again"
            )
        return self.memory, self.rule

    def pages(self) -> Iterator[Row]:
        """Every page that can be vetted, by path, and how it stands."""
        for page in pages_of(self.kb):
            yield Row(page, self.standings.of(page))

    def waiting(self) -> tuple[Waiting, ...]:
        """Versions that would follow the rule in force, were they signed by enough."""
        _, rule = self.known()
        lying = waiting(rules_at(self.kb, rule.version + 1), rule)
        after = (one for one in lying if one.rule.follows == rule.digest)
        return tuple(sorted(after, key=lambda one: one.rule.digest))

    def catch_up(self) -> tuple[str, ...]:
        """Take over what is signed by enough people; what was done comes back.

        Raises:
            OSError: it cannot be noted.
        """
        if self.memory is None or self.rule is None or not installed():
            return ()
        told = []
        while found := next(self._next_rules(), None):
            self.memory = clubs.accept(self.home, self.memory, found.text)
            self.rule = found.rule.of_club(self.rule.club_id)
            pens = ", ".join(sorted({one.pen for one in self.rule.reviewers}))
            told.append(
                f"The club's rule is version {self.rule.version} now. Reviewers: "
                f"{pens}; {self.rule.needed()} must agree on a page."
            )
        self.standings = Standings(self.kb, self.home)
        self.note_seen()
        return tuple(told)

    def _next_rules(self) -> Iterator[Waiting]:
        for one in self.waiting() if self.rule else ():
            signed = one.signed
            if (
                self.rule
                and signed
                and not follows(one.rule, self.rule, signed, checks)
            ):
                yield one

    def note_seen(self) -> None:
        """Note what is vetted and what was withdrawn, against older texts later.

        Raises:
            OSError: it cannot be noted.
        """
        found = {}
        for page in signed_pages(self.kb):
            before, now = clubs.seen(self.home, page), self.standings.seen(page)
            if now not in (before, NOTHING_SEEN):
                found[page] = now
        if found:
            clubs.note_seen(self.home, found)


def pages_of(kb: str) -> list[str]:
    """The paths of all pages in a knowledge base."""
    root = Path(kb)
    folders = [*root.glob("cards/*"), *(root / name for name in _FOLDERS)]
    found = (path.relative_to(root) for at in folders for path in at.glob("*.md"))
    return sorted(p.as_posix() for p in found if PAGE.fullmatch(p.as_posix()))


_FOLDERS = ("procedures", "notes", "stop-rules")


def signed_pages(kb: str) -> list[str]:
    """The paths of pages that bear any sign-off, whether they are there or not."""
    root = Path(kb, "club", "sign-offs")
    found = {path.parent.relative_to(root) for path in root.glob("**/*.json")}
    return sorted(f"{path.as_posix()}.md" for path in found)


def waiting(files: Mapping[str, bytes], rule: Rule | None) -> list[Waiting]:
    """The versions of rules among some files, each with its signatures.

    Args:
        files: by path in a knowledge base, as a pack or `rules_at` has them.
        rule: the one in force, whose reviewers' pens are told; None for none.
    """
    found = []
    for path, text in sorted(files.items()):
        if not RULE.fullmatch(path):
            continue
        try:
            said = read_rule(text)
        except lines.PaperError:
            continue
        keys = (rule.keys if rule else {}) | said.keys
        signed = _signatures(files, path, text, keys)
        signers = signed.signers(keys, checks) if signed else frozenset()
        pens = sorted({said.pen(k) or (rule.pen(k) if rule else "") for k in signers})
        found.append(Waiting(said, text, signed, tuple(pens)))
    return found


def rules_at(kb: str, version: int = 1) -> dict[str, bytes]:
    """The files of one version of the rule in a knowledge base, by path."""
    held = {}
    found = sorted(Path(kb, "club", "rules").glob(f"{version:04}.*"))
    for path in found[:MOST_RULES]:
        with suppress(OSError):
            held[path.relative_to(kb).as_posix()] = read_whole(path, MOST_BYTES)
    return held


def _signatures(
    files: Mapping[str, bytes], rule: str, text: bytes, keys: Mapping[str, bytes]
) -> envelope.Envelope | None:
    """The right signatures under one text, one a key, in one envelope; or None."""
    begin = rule.removesuffix("txt")
    proved: dict[str, envelope.Signature] = {}
    for path, data in sorted(files.items()):
        if not (RULE_SIGNED.fullmatch(path) and path.startswith(begin)):
            continue
        try:
            held = envelope.read(data, KIND)
        except envelope.EnvelopeError:
            continue
        if held.payload == text:
            right = held.signers(keys, checks)
            proved |= {s.key_id: s for s in held.signatures if s.key_id in right}
    few = tuple(proved.values())[: envelope.MOST_SIGNATURES]
    return envelope.Envelope(KIND, text, few) if few else None


def founded(files: Mapping[str, bytes]) -> Waiting:
    """The first version of a club's rule among some files.

    Raises:
        ClubError: there is none, or several clubs'.
    """
    if not installed():
        raise ClubError(HOW_TO_INSTALL)
    first = [w for w in waiting(files, None) if w.rule.version == 1]
    sound = [w for w in first if w.signed and not begins(w.rule, w.signed, checks)]
    if len(sound) != 1:
        what = "several clubs' rules" if sound else "no club's rule"
        raise ClubError(f"{what} came with it; ask the keeper for a pack of your club")
    return sound[0]


def is_of(first: Waiting, said: str) -> None:
    """Hold the last group of a fingerprint, as a member read it out, against a rule.

    Raises:
        ClubError: it is another one.
    """
    groups = fingerprint(first.rule.digest)
    if said.replace(" ", "").lower() not in (groups[-4:], groups.replace(" ", "")):
        raise ClubError(
            "the fingerprint is another one: do not trust this pack, nothing of it was "
            "taken in; ask the keeper by voice which it is"
        )


def join(kb: str, home: str, first: Waiting, pen: str = "") -> Club:
    """Become a member of the club whose fingerprint was compared.

    Raises:
        ClubError: this is a member of another club already.
        OSError: it cannot be noted.
    """
    kept = clubs.memory(home)
    if kept and kept.club != first.rule.digest:
        raise ClubError(
            "this store belongs to another club; choose another with --home DIR"
        )
    clubs.accept(home, clubs.Memory(first.rule.digest, "", pen), first.text)
    club = Club(kb, home)
    club.catch_up()
    return club
