"""How a page stands with the club: five states, in words.

Reckoned from the bytes that are read, the sign-offs whose signatures are proved, the
rule, and what this member has seen before; nothing is kept that could be out of date.
What cannot be proved counts for nothing: the state falls, it never rises.
"""

from collections.abc import Iterable
from datetime import date
from enum import Enum
from typing import NamedTuple

from bot.club.rule import Rule
from bot.club.signoff import Bytes, Said, Signed, Text


class State(Enum):
    """The five states, in the words in which every window shows them."""

    VETTED = "vetted"
    OVERDUE = "vetted, check overdue"
    NOT_VETTED = "not vetted"
    CHANGED = "changed since vetting"
    WITHDRAWN = "withdrawn"


class Seen(NamedTuple):
    """What this member saw of a page before: its highest revision that was vetted.

    `withdrawn` is the revision that was withdrawn, 0 for none; `why` the reason.
    """

    revision: int = 0
    bytes: Bytes = Bytes("")
    withdrawn: int = 0
    why: str = ""


NOTHING_SEEN = Seen()


class Standing(NamedTuple):
    """How a page stands, and why in a few words.

    `is_older` is true of a text that was vetted or signed before the one that counts.
    """

    state: State
    why: str = ""
    revision: int = 0
    is_older: bool = False

    def __str__(self) -> str:
        return f"{self.state.value} ({self.why})" if self.why else self.state.value

    @property
    def may_lead(self) -> bool:
        """Whether the club has not taken the page back."""
        return self.state is not State.WITHDRAWN


class _Agreed(NamedTuple):
    """A revision on which as many people agree as the rule asks for."""

    revision: int
    bytes: Bytes
    people: tuple[str, ...]
    day: date
    check_by: date


def standing(
    text: Text, signed: Iterable[Signed], rule: Rule, seen: Seen, today: date
) -> Standing:
    """How a page stands.

    Args:
        text: the page, and the digests of what is read.
        signed: sign-offs, each proved to be signed by its key; of any page.
        rule: the club's rule that is in force, which says whose keys count.
        seen: what was seen of the page before.
        today: the later of the clock and the newest day that was signed.
    """
    counting = [one for one in signed if _counts(one, text.page, rule)]
    agreed, at_odds = _agreed(text.page, counting, rule, seen)
    newest = agreed.revision if agreed else 0
    withdrawn, why = _withdrawn(counting, seen)
    if withdrawn and newest <= withdrawn:
        return Standing(State.WITHDRAWN, why, withdrawn)
    if at_odds:
        says = f"two texts are both signed as revision {at_odds}"
        return Standing(State.NOT_VETTED, says, at_odds)
    if agreed and text.bytes == agreed.bytes:
        return _vetted(agreed, today)
    signs = [one for one in counting if one.signoff.bytes == text.bytes]
    newest = max(newest, seen.revision)
    as_seen = newest == seen.revision and text.bytes == seen.bytes
    if newest and not as_seen:
        older = any(one.signoff.revision < newest for one in signs)
        return Standing(State.CHANGED, _beside(newest, signs), newest, older)
    return Standing(State.NOT_VETTED, _how_many(text.page, signs, rule))


def system_of(page: str) -> str:
    """The system by whose count a page is vetted: the folder that it lies in.

    >>> system_of("cards/brakes/brake-drags.md"), system_of("words.yaml")
    ('brakes', 'words')
    """
    folders = page.split("/")[:-1]
    return folders[-1] if folders else "words"


def next_revision(text: Text, signed: Iterable[Signed], rule: Rule, seen: Seen) -> int:
    """The revision under which a text is signed: that of who signed it before, or new.

    A text that was withdrawn can come back only under a higher number.
    """
    counting = [one for one in signed if _counts(one, text.page, rule)]
    withdrawn, _ = _withdrawn(counting, seen)
    same = {
        one.signoff.revision
        for one in counting
        if one.signoff.bytes == text.bytes and one.signoff.says is Said.VETTED
    }
    above = {revision for revision in same if revision > withdrawn}
    known = {one.signoff.revision for one in counting} | {seen.revision, withdrawn}
    return max(above) if above else max(known) + 1


MOST_LEAP = 1_000
"""A revision so far above what is known was made up to keep all others out."""


def _counts(one: Signed, page: str, rule: Rule) -> bool:
    said = one.signoff
    return said.page == page and said.club == rule.club_id and bool(rule.pen(one.key))


def _agreed(
    page: str, counting: list[Signed], rule: Rule, seen: Seen
) -> tuple[_Agreed | None, int]:
    """The highest revision that enough people agree on, and one with two texts."""
    system = system_of(page)
    votes: dict[tuple[int, Bytes], list[Signed]] = {}
    for one in counting:
        said = one.signoff
        if said.says is Said.VETTED and said.revision <= seen.revision + MOST_LEAP:
            votes.setdefault((said.revision, said.bytes), []).append(one)
    enough: dict[int, list[_Agreed]] = {}
    for (revision, text), signs in votes.items():
        people = rule.people((one.key for one in signs), system)
        if len(people) >= rule.needed(system):
            day = max(one.signoff.day for one in signs)
            by = min(one.signoff.check_by for one in signs)
            found = _Agreed(revision, text, tuple(sorted(people)), day, by)
            enough.setdefault(revision, []).append(found)
    if not enough or max(enough) < seen.revision:
        return None, 0
    highest = enough[max(enough)]
    seen_other = max(enough) == seen.revision and highest[0].bytes != seen.bytes
    at_odds = len(highest) > 1 or seen_other
    return highest[0], highest[0].revision if at_odds else 0


def _withdrawn(counting: list[Signed], seen: Seen) -> tuple[int, str]:
    """The highest revision that anybody withdrew, and why; one person is enough.

    Nobody reaches further than to the next revision: one who names a high number keeps
    a page down while his key counts, and not for ever.
    """
    vetted = (
        one.signoff.revision for one in counting if one.signoff.says is Said.VETTED
    )
    most = max(vetted, default=0)
    found = [
        (min(one.signoff.revision, max(most, seen.revision) + 1), one.signoff.remark)
        for one in counting
        if one.signoff.says is Said.WITHDRAWN
    ]
    return max([*found, (seen.withdrawn, seen.why)])


def _vetted(agreed: _Agreed, today: date) -> Standing:
    by = " and ".join(agreed.people)
    why = f"{by}, revision {agreed.revision}, {agreed.day.isoformat()}"
    if agreed.check_by < today:
        return Standing(State.OVERDUE, why, agreed.revision)
    return Standing(State.VETTED, why, agreed.revision)


def _beside(newest: int, signs: list[Signed]) -> str:
    """How a text that is not the vetted one stands beside it."""
    revisions = [one.signoff.revision for one in signs]
    if any(revision < newest for revision in revisions):
        return f"an older text than revision {newest}"
    if revisions:
        return f"revision {max(revisions)} is not signed by enough"
    return f"not the text of revision {newest}"


def _how_many(page: str, signs: list[Signed], rule: Rule) -> str:
    system = system_of(page)
    keys = (one.key for one in signs if one.signoff.says is Said.VETTED)
    return f"{len(rule.people(keys, system))} of {rule.needed(system)} signed"
