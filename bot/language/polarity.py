"""What is denied: the one place that knows how far a "not" reaches.

The rules stand in `RULES` in the order they are asked; each is a few lines, looks at
one turn of speech, and may deny a mention or take a denial back. A mention that is a
phrase with its own "not" ("not a peep") is none of their business.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from bot.language.lexicon import NOT, Lexicon
from bot.language.mentions import Mention
from bot.language.text import CLAUSE, Word

REACH = 3
"""A "not" reaches so many mentions, and no farther than twice as many words. Source:
the four words of NegEx (Chapman et al. 2001), widened for small words (our choice)."""


class Scene(NamedTuple):
    """A line as the rules look at it: `parts` numbers the clause of every word.

    `unreal` are the numbers of words at which something only thought of begins;
    `not_all` the stretches of words that are said of all and have an exception.
    """

    words: Sequence[Word]
    parts: Sequence[int]
    mentions: Sequence[Mention]
    lexicon: Lexicon
    unreal: frozenset[int] = frozenset()
    not_all: tuple[tuple[int, int], ...] = ()

    def nots(self) -> list[int]:
        """The numbers of the words that say "not" and are part of no sure phrase."""
        sure = [m for m in self.mentions if any(w >= 1.0 for _, w in m.senses)]
        inside = {n for m in sure for n in range(m.first, m.last)}
        return [
            n for n, w in enumerate(self.words) if w.stem == NOT and n not in inside
        ]

    def between(self, first: int, last: int) -> set[str]:
        """The words from one place up to another."""
        return {word.said for word in self.words[first:last]}

    def quits(self, number: int) -> bool:
        """Whether a mention is a "stop", "quit"."""
        stems = self.stems(number)
        return NOT not in stems and bool(stems & self.lexicon.listed("quitting"))

    def stems(self, number: int) -> set[str]:
        """The stems of a mention's words."""
        mention = self.mentions[number]
        return {word.stem for word in self.words[mention.first : mention.last]}


Denied = set[int]
"""Numbers of the mentions that are denied."""


def denied(scene: Scene) -> frozenset[int]:
    """The numbers of the mentions that the line denies."""
    found: Denied = set()
    for rule in RULES:
        found = rule(scene, found)
    return frozenset(found)


def reaches_on(scene: Scene, found: Denied) -> Denied:
    """`no smoke`, `does not hold`: what follows in the same clause is denied.

    First, because all others mend what it does.
    """
    for at in scene.nots():
        found |= set(_reached(scene, at))
    return found


def _reached(scene: Scene, at: int) -> list[int]:
    """The numbers of the mentions that a "not" reaches."""
    reached: list[int] = []
    ends = scene.lexicon.listed("ends")
    for number, mention in enumerate(scene.mentions):
        if mention.first <= at:
            continue
        far = mention.first - at > 2 * REACH or len(reached) >= REACH
        over = scene.parts[mention.first] != scene.parts[at]
        if far or over or scene.between(at + 1, mention.first) & ends:
            break
        reached.append(number)
    return reached


def _rest_of_clause(scene: Scene, at: int) -> list[int]:
    """The numbers of the mentions from a word on, up to the end of its clause."""
    ends = scene.lexicon.listed("ends")
    return [
        number
        for number, mention in enumerate(scene.mentions)
        if mention.first >= at
        and scene.parts[mention.first] == scene.parts[at - 1]
        and not scene.between(at, mention.last) & ends
    ]


NONE_OF_THEM = "not_of_them"
"""The sense of "none of them", "not one of them"."""


def none_of_them(scene: Scene, found: Denied) -> Denied:
    """`none of them leaks`: what they do is denied.

    Beside `reaches_on`, whose "not" here is part of a phrase.
    """
    for who in scene.mentions:
        if who.has(NONE_OF_THEM):
            found |= set(_rest_of_clause(scene, who.last))
    return found


def through_a_list(scene: Scene, found: Denied) -> Denied:
    """`no cuts, bulges or cords`: a list that ends in "or" is denied to its end.

    After `reaches_on`, which stops at the comma.
    """
    links = {"or", "nor"}
    within = [n for n in range(len(scene.mentions)) if NOT in scene.stems(n)]
    ahead = [reached[-1] for at in scene.nots() if (reached := _reached(scene, at))]
    for start in (*within, *ahead):
        listed: list[int] = []
        last = scene.mentions[start].last
        for number in range(start + 1, len(scene.mentions)):
            mention = scene.mentions[number]
            if mention.first - last > 1:
                break
            listed.append(number)
            last = mention.last
            if scene.between(mention.first - 1, mention.first) & links:
                found |= set(listed)
                break
    return found


def goes_on(scene: Scene, found: Denied) -> Denied:
    """`will not stop hissing`: it hisses. Takes back what `reaches_on` did."""
    for at in scene.nots():
        reached = _reached(scene, at)
        if reached and scene.quits(reached[0]):
            found -= set(reached[1:])
    return found


def ceased(scene: Scene, found: Denied) -> Denied:
    """`the hiss has stopped`, `buzzer gone`: what comes right before is over."""
    over = scene.lexicon.listed("ceasing")
    for number, mention in enumerate(scene.mentions[:-1]):
        after = scene.mentions[number + 1]
        same = scene.parts[mention.first] == scene.parts[after.first]
        near = after.first - mention.last <= 2
        said = scene.between(after.first, after.last)
        is_over = same and near and bool(said & over)
        if is_over and number + 1 not in found and NOT not in scene.stems(number + 1):
            found.add(number)
    return found


NO_CHANGE = "not_chang"
"""The sense of "made no difference", "did not help"."""


def to_no_effect(scene: Scene, found: Denied) -> Denied:
    """`warm water did nothing`: what was tried before it in the clause did not do it.

    Beside `ceased`, which looks back as well.
    """
    for result in scene.mentions:
        if result.has(NO_CHANGE):
            part = scene.parts[result.first]
            found |= {
                number
                for number, mention in enumerate(scene.mentions)
                if mention.last <= result.first and scene.parts[mention.first] == part
            }
    return found


def quit_doing(scene: Scene, found: Denied) -> Denied:
    """`stopped charging`: what was quit is no more, unless the quitting is denied."""
    for number in range(len(scene.mentions) - 1):
        after = scene.mentions[number + 1]
        doing = scene.words[after.first].said.endswith("ing")
        same = scene.parts[after.first] == scene.parts[scene.mentions[number].first]
        if scene.quits(number) and number not in found and doing and same:
            found.add(number + 1)
    return found


def at_the_end(scene: Scene, found: Denied) -> Denied:
    """`slack it aint`, `dry, no`: a "not" that ends its clause looks back.

    Only where it reaches nothing ahead; a "no" by itself answers the clause before.
    """
    for at in scene.nots():
        ends = at + 1 == len(scene.words) or scene.words[at + 1].gap >= CLAUSE
        if not ends or _reached(scene, at):
            continue
        part = scene.parts[at]
        alone = scene.parts.index(part) == at
        looked_at = part - 1 if alone and at else part
        found |= {
            number
            for number, mention in enumerate(scene.mentions)
            if scene.parts[mention.first] == looked_at and mention.last <= at
        }
    return found


def twice_is_once(scene: Scene, found: Denied) -> Denied:
    """`there ain't no smoke`, `it don't leak none`: two of them make one "not".

    After all that spread a "not": a phrase that has its own is not turned round.
    """
    return found - {n for n in found if NOT in scene.stems(n)}


def all_but_one(scene: Scene, found: Denied) -> Denied:
    """`all alike bar the left`, `none leaks except one`: it does not hold of all.

    After all that tell what is denied, for it turns that round; parts are left alone.
    """
    for begin, end in scene.not_all:
        for number, mention in enumerate(scene.mentions):
            sure = [sense for sense, weight in mention.senses if weight >= 1.0]
            is_part = any(sense in scene.lexicon.parts for sense in sure)
            if begin <= mention.first and mention.last <= end and sure and not is_part:
                found ^= {number}
    return found


def not_so(scene: Scene, found: Denied) -> Denied:
    """`expecting slime`, `instead of a 10`: what was thought of is not what is there.

    Last: it holds whatever else is said of it.
    """
    for at in scene.unreal:
        after = (n for n, m in enumerate(scene.mentions) if at <= m.first <= at + 2)
        found |= set(list(after)[:1])
    return found


RULES: tuple[Callable[[Scene, Denied], Denied], ...] = (
    reaches_on,
    none_of_them,
    through_a_list,
    goes_on,
    ceased,
    to_no_effect,
    quit_doing,
    at_the_end,
    twice_is_once,
    all_but_one,
    not_so,
)
"""In the order they are asked; each says why it stands where it stands."""
