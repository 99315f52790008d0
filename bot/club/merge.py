"""Two edits of one page put together, in the page's own terms.

A unit (`bot.club.units`) that one side changed is taken, one that both changed alike is
one, one that both changed otherwise is a clash. What both added to a list is kept. No
line is lost unless a side took it out; which side is called ours decides nothing but
the words of a clash.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple, TypeVar

from rapidfuzz.fuzz import ratio

from bot.club.clashes import Clash, Trail, both_said, where
from bot.club.units import Branch, Leaf, Unit, What, bare, cut, text_of, whole

ALIKE = 60.0
"""From so many hundredths likeness on a step is one that was given another name."""

MOST_PAIRS = 4_096
MOST_COMPARED = 2_000
"""So many pairs of changed units are compared, and so many letters of each."""

_ONE_FOR_ANOTHER = frozenset(
    {What.POINT, What.NUMBER, What.PROSE, What.CAUTION, What.ITEM, What.NOTE}
)
"""Units without a name: one in the place of one that is gone is that one, edited."""

_LIKE_ANOTHER = frozenset({What.STEP, What.SECTION, What.GROUP})
"""Units with a name: one that is like one that is gone is that one, named anew."""

_IN_ORDER = frozenset({What.NUMBER, What.PROSE})
_IN_LISTS = frozenset({What.POINT, What.ITEM, What.LINE})
"""Units whose order matters, so that two added in one place clash; and those of which
one that both added stands once, wherever each put it."""


Value = TypeVar("Value", bound=Hashable)


class Merged(NamedTuple):
    """What two edits make together: the text, or where they clash."""

    text: str
    conflicts: tuple[Clash, ...] = ()


def _always(_: str) -> bool:
    return True


def merge(
    base: str | None,
    ours: str,
    theirs: str,
    *,
    path: str = "",
    reads: Callable[[str], bool] = _always,
) -> Merged:
    """Put two edits of one file together.

    Args:
        base: the text that both began with; None, or empty, where there was none.
        ours: one text.
        theirs: the other.
        path: where the file lies in its knowledge base; a page where nothing is said.
        reads: whether a text has no fault that keeps it from being read. Where both
            texts have none and what they make together has, that is a clash.
    """
    if ours == theirs or base == theirs:
        return Merged(ours)
    if base == ours:
        return Merged(theirs)
    texts = (base, ours, theirs)
    plain = tuple(text and _with_line_feeds(text) for text in texts)
    if plain != texts:  # ends of lines are no edit, and kept where nothing is merged
        return merge(plain[0], plain[1] or "", plain[2] or "", path=path, reads=reads)
    mine, other = cut(ours, path), cut(theirs, path)
    old = cut(base, path) if base else None
    if any(side and _is_whole(side) for side in (old, mine, other)):
        old = whole(base) if base else None
        mine, other = whole(ours), whole(theirs)
    turned = theirs < ours  # nothing may hang on whose text is whose
    weave = _Weave(turned=turned)
    text = text_of(weave.unit(old, *_pair(mine, other, turned=turned), ()))
    if weave.clashes:
        return Merged("", tuple(weave.clashes))
    if reads(ours) and reads(theirs) and not reads(text):
        says = "each of the two can be read, put together they cannot"
        return Merged("", (Clash("the whole page", says),))
    return Merged(text)


def _pair(ours: Value, theirs: Value, *, turned: bool) -> tuple[Value, Value]:
    return (theirs, ours) if turned else (ours, theirs)


def _with_line_feeds(text: str) -> str:
    return text.removeprefix("\ufeff").replace("\r\n", "\n")


def _is_whole(page: Branch) -> bool:
    return page.parts[0].what is What.ALL


def union(ours: str, theirs: str) -> str:
    """The lines of two copies of a file that is only appended to: none is lost.

    The one that holds all the other does; else all lines of one, then what the other
    has besides, every line as often as the copy has it that has it oftener.
    """
    one, two = sorted((ours, theirs))
    first, second = (text.removesuffix("\n").split("\n") for text in (one, two))
    spare, wanted = Counter(first), Counter(second)
    if two.startswith(one) or spare <= wanted:
        return two
    if wanted <= spare:
        return one
    out = list(first)
    for line in second:
        if spare[line] > 0:
            spare[line] -= 1
        else:
            out.append(line)
    return "\n".join(out) + "\n"


class _Weave:
    """A merge at work; collects the clashes.

    Its sides are `one` and `two`, which is ours where they are turned.
    """

    def __init__(self, *, turned: bool) -> None:
        self.turned = turned
        self.clashes: list[Clash] = []

    def unit(self, base: Unit | None, one: Unit, two: Unit, trail: Trail) -> Unit:
        """One unit that both sides have."""
        taken = None if base is None else _either(base, one, two)
        if taken or one == two:
            return taken or one
        if isinstance(one, Leaf) and isinstance(two, Leaf):
            return self._leaf(base if isinstance(base, Leaf) else None, one, two, trail)
        if not isinstance(one, Branch) or not isinstance(two, Branch):
            self._differ(trail, (one,), (two,))
            return one
        old = base.parts if isinstance(base, Branch) else None
        ours, _ = _pair(one, two, turned=self.turned)
        parts = self._parts(old, one.parts, two.parts, (*trail, ours))
        merged = Branch(one.what, one.key, parts)
        if _counts(one) and _counts(two) and not _counts(merged):
            says = "both sides added or took out some, and their numbers clash"
            self.clashes.append(Clash(where(trail, ours), says))
        return merged

    def _differ(
        self, trail: Trail, one: Sequence[Unit], two: Sequence[Unit], says: str = ""
    ) -> None:
        """Note a clash of what the two sides have in one place."""
        ours, theirs = _pair(tuple(one), tuple(two), turned=self.turned)
        said = ("\n".join(text_of(unit) for unit in run) for run in (ours, theirs))
        self.clashes.append(Clash(where(trail, ours[0]), says + both_said(*said)))

    def _leaf(self, base: Leaf | None, one: Leaf, two: Leaf, trail: Trail) -> Leaf:
        old = base or Leaf(one.what, "", (), "\0", "", "\0")
        text = _either(old.text, one.text, two.text)
        if text is None:
            self._differ(trail, (one,), (two,))
            return one
        gap = _either(old.gap, one.gap, two.gap)
        mark = _either(old.mark, one.mark, two.mark)
        return Leaf(
            one.what,
            one.key,
            max(one.gap, two.gap) if gap is None else gap,
            text,
            max(one.lead, two.lead),
            max(one.mark, two.mark) if mark is None else mark,
        )

    def _parts(
        self,
        base: Sequence[Unit] | None,
        one: Sequence[Unit],
        two: Sequence[Unit],
        trail: Trail,
    ) -> tuple[Unit, ...]:
        """The units of a branch, in order."""
        if base is None:
            return tuple(self._added(one, two, trail))
        out: list[Unit] = []
        seen: dict[object, set[int]] = {}
        first, second = _aligned(base, one), _aligned(base, two)
        new = _in_lists(one) & _in_lists(two) - _in_lists(base)
        _part(new, first, second, one, two)
        gaps = zip(_runs(first, one), _runs(second, two), strict=True)
        for n, runs in enumerate(gaps):
            if n:
                i, j = first[n - 1], second[n - 1]
                left = None if i is None else one[i]
                right = None if j is None else two[j]
                out += self._kept(base[n - 1], left, right, trail)
            out += self._added(*_once(runs, seen), trail)
        return tuple(out)

    def _kept(
        self, base: Unit, one: Unit | None, two: Unit | None, trail: Trail
    ) -> Iterator[Unit]:
        """What became of a unit that was there."""
        if one and two:
            yield self.unit(base, one, two, trail)
            return
        left = one or two
        if left is None or bare(left) == bare(base):
            return
        if isinstance(base, Branch) and base.what is What.GROUP:
            empty = base._replace(parts=base.parts[:1])
            merged = self.unit(base, one or empty, two or empty, trail)
            if bare(merged) != bare(empty):
                yield merged
            return
        is_ours = (one is None) is self.turned
        gone, stays = ("theirs", "yours") if is_ours else ("yours", "theirs")
        says = f"{gone} took it out, {stays} changed it"
        self.clashes.append(Clash(where(trail, left), says))
        yield left

    def _added(
        self, one: Sequence[Unit], two: Sequence[Unit], trail: Trail
    ) -> Iterator[Unit]:
        """What both sides put in one place: once where it is the same, else both."""
        if not one or not two or one == two:
            yield from one or two
            return
        ends = [(-1, -1), *_matched(one, two), (len(one), len(two))]
        for (i, j), (to_i, to_j) in pairwise(ends):
            if i >= 0:
                yield self.unit(None, one[i], two[j], trail)
            runs = (one[i + 1 : to_i], two[j + 1 : to_j])
            both = [{unit.what for unit in run} for run in runs]
            if both[0] & both[1] & _IN_ORDER:
                self._differ(trail, *runs, "both added here: ")
            for run in sorted(runs, key=lambda run: [unit.lines() for unit in run]):
                yield from run


def _either(base: Value, ours: Value, theirs: Value) -> Value | None:
    """What one side made of it, or both alike; None where they differ."""
    if theirs in (ours, base):
        return ours
    return theirs if base == ours else None


def _once(
    runs: tuple[Sequence[Unit], Sequence[Unit]], seen: dict[object, set[int]]
) -> tuple[Sequence[Unit], Sequence[Unit]]:
    """What each side added here, less what the other alone put elsewhere before."""

    def is_new(unit: Unit, side: int) -> bool:
        return unit.what not in _IN_LISTS or seen.get(bare(unit)) != {1 - side}

    kept = [[u for u in run if is_new(u, side)] for side, run in enumerate(runs)]
    for side, run in enumerate(runs):
        for unit in run:
            seen.setdefault(bare(unit), set()).add(side)
    return kept[0], kept[1]


def _counts(branch: Branch) -> bool:
    """Whether what is numbered in it is numbered in turn."""
    marks = [_mark(part) for part in branch.parts]
    found = [mark for mark in marks if mark is not None]
    return found == [str(n) for n in range(1, len(found) + 1)]


def _mark(unit: Unit) -> str | None:
    """The number of an instruction or a step."""
    if isinstance(unit, Branch):
        return _mark(unit.parts[0]) if unit.what is What.STEP else None
    return unit.mark if unit.what in (What.NUMBER, What.STEP) else None


def _runs(
    match: Sequence[int | None], side: Sequence[Unit]
) -> Iterator[Sequence[Unit]]:
    """What a side added before the first, after the first, ... unit that was there."""
    ends = [*(found for found in match if found is not None), len(side)]
    yield side[: ends[0]]
    nth = 0
    for found in match:
        nth += found is not None
        yield () if found is None else side[found + 1 : ends[nth]]


def _part(
    new: set[object],
    first: list[int | None],
    second: list[int | None],
    one: Sequence[Unit],
    two: Sequence[Unit],
) -> None:
    """What is new on both sides is no edit of one that was there, but on both."""
    for n, (i, j) in enumerate(zip(first, second, strict=True)):
        left = None if i is None else bare(one[i])
        right = None if j is None else bare(two[j])
        if left != right:
            first[n] = None if left in new else i
            second[n] = None if right in new else j


def _in_lists(units: Sequence[Unit]) -> set[object]:
    return {bare(unit) for unit in units if unit.what in _IN_LISTS}


def _aligned(base: Sequence[Unit], side: Sequence[Unit]) -> list[int | None]:
    """For each unit that was there its place on a side; None where it is gone."""
    match: list[int | None] = [None] * len(base)
    ends = [(-1, -1), *_matched(base, side), (len(base), len(side))]
    for (i, j), (to_i, to_j) in pairwise(ends):
        if i >= 0:
            match[i] = j
        for k, m in _edited(base[i + 1 : to_i], side[j + 1 : to_j]):
            match[i + 1 + k] = j + 1 + m
    return match


def _matched(one: Sequence[Unit], two: Sequence[Unit]) -> list[tuple[int, int]]:
    """The most pairs of the same name or the same words that keep their order."""
    places = {name: n for n, name in enumerate(_names(two))}
    pairs = [(n, places[name]) for n, name in enumerate(_names(one)) if name in places]
    lasts: list[int] = []  # of the best row of each length, the place on side two
    rows: list[int] = []  # and which pair ends it
    before: list[int] = []
    for n, (_, place) in enumerate(pairs):
        length = bisect_left(lasts, place)
        before.append(rows[length - 1] if length else -1)
        lasts[length : length + 1] = [place]
        rows[length : length + 1] = [n]
    found: list[tuple[int, int]] = []
    at = rows[-1] if rows else -1
    while at >= 0:
        found.append(pairs[at])
        at = before[at]
    return found[::-1]


def _names(units: Sequence[Unit]) -> Iterator[tuple[What, str, int]]:
    """What each unit is known by; one that stands again has a number."""
    seen: dict[tuple[What, str], int] = {}
    for unit in units:
        words = unit.text if isinstance(unit, Leaf) else ""
        name = unit.what, unit.key or words
        seen[name] = seen.get(name, 0) + 1
        yield *name, seen[name]


def _edited(one: Sequence[Unit], two: Sequence[Unit]) -> list[tuple[int, int]]:
    """Which of the units that are gone is which of the new ones, in order.

    As many as can be, and of these the likest.
    """
    if len(one) * len(two) > MOST_PAIRS:
        pairs = zip(range(len(one)), range(len(two)), strict=False)
        return [(i, j) for i, j in pairs if _likeness(one[i], two[j])]
    best: list[list[tuple[float, tuple[tuple[int, int], ...]]]]
    best = [[(0.0, ())] * (len(two) + 1) for _ in range(len(one) + 1)]
    for i, j in ((i, j) for i in range(len(one)) for j in range(len(two))):
        like = _likeness(one[i], two[j])
        worth, pairs_so_far = best[i][j]
        paired = (worth + like, (*pairs_so_far, (i, j)))
        apart = max(best[i][j + 1], best[i + 1][j], key=lambda found: found[0])
        best[i + 1][j + 1] = paired if like and paired[0] >= apart[0] else apart
    return list(best[-1][-1][1])


def _likeness(one: Unit, two: Unit) -> float:
    """How like two units are that may be one, edited; 0 where they cannot be."""
    if one.what is not two.what:
        return 0.0
    words = (text_of(one)[:MOST_COMPARED], text_of(two)[:MOST_COMPARED])
    if one.what in _ONE_FOR_ANOTHER:
        return 1000.0 + ratio(*words)
    named = isinstance(one, Branch) and one.what in _LIKE_ANOTHER
    like = ratio(*words) if named else 0.0
    return like if like >= ALIKE else 0.0
