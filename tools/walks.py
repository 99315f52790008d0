"""Simulated jobs on real cards: a cause is drawn, checks answer by their own tables.

Three walkers: chock's planner; a reader who follows the page as it is written; one who
makes the likeliest repair first and checks nothing. What they pay is counted alike: the
minutes of every step, its parts in price words, set-up once, and a try-out a repair.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.diagnose.belief import Belief, Heard, Tried, believe, prior
from bot.diagnose.case import Case
from bot.diagnose.learning import NO_OUTCOMES
from bot.diagnose.planner import Action, Fix, Look, Work
from bot.diagnose.problem import Open, key, propose, work_of

if TYPE_CHECKING:
    from bot.model.card import Card, Check, Repair


@dataclass
class Walk:
    """One job being walked on one card; `truth` numbers the cause, the last is none.

    With the same `seed` a check gives every walker the same answer.
    """

    card: Card
    truth: int
    seed: str
    minutes: float = 0.0
    checks: int = 0
    cured: bool = False
    opened: frozenset[str] = frozenset()
    heard: list[Heard] = field(default_factory=list)
    failed: list[Tried] = field(default_factory=list)
    stated: list[tuple[float, bool]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.case = Case((self.card,), (1.0,))
        self.start = prior(self.case, lambda _: NO_OUTCOMES)
        whole = Open(
            tuple((self.card, check) for check in self.card.checks),
            tuple((self.card, repair) for repair in self.card.repairs),
        )
        self.work: Work = work_of(self.case, self.start, whole)

    def belief(self) -> Belief:
        """What is believed after what was heard and tried."""
        return believe(self.case, self.start, self.heard, self.failed)

    def look(self, check: Check) -> int:
        """Make a check; the number of the answer that comes."""
        look = next(k for k in self.work.looks if k.id == key(self.card, check))
        self.checks += 1
        self._pay(look)
        column = [row[self.truth] for row in look.table]
        draw = Random(f"{self.seed} {check.id}")
        (answer,) = draw.choices(range(len(column)), column)
        said = check.findings[answer].answer
        self.heard.append(Heard(self.card.id, check.id, said))
        return answer

    def repair(self, repair: Repair) -> bool:
        """Make a repair; whether it cured. What was believed of it is kept."""
        fix = next(f for f in self.work.fixes if f.id == key(self.card, repair))
        weights = self.belief().weights
        for_these = [number for number, _ in fix.cures]
        sure = sum(weights[number] for number in for_these)
        self.stated.append((sure, self.truth in for_these))
        self._pay(fix)
        chance = dict(fix.cures).get(self.truth, 0.0)
        self.cured = Random(f"{self.seed} {repair.id}").random() < chance
        if not self.cured:
            self.failed.append(Tried(self.card.id, repair.id))
        return self.cured

    def help(self) -> None:
        """Call for help: that ends the job."""
        self.minutes += self.work.at.help
        self.cured = True

    def open(self) -> Open:
        """What has not been done yet; a fact that is known is not asked again."""
        asked = {heard.check for heard in self.heard}
        facts = {c.needs.fact for c in self.card.checks if c.id in asked} - {""}
        tried = {tried.repair for tried in self.failed}
        checks = (
            (self.card, check)
            for check in self.card.checks
            if check.id not in asked and check.needs.fact not in facts
        )
        repairs = ((self.card, r) for r in self.card.repairs if r.id not in tried)
        return Open(tuple(checks), tuple(repairs), self.opened)

    def _pay(self, step: Fix | Look) -> None:
        self.minutes += step.cost + self.work.at.reaching(step.setups, self.opened)
        self.opened |= step.setups


def by_planner(walk: Walk) -> None:
    """As chock proposes."""
    while not walk.cured:
        step = propose(walk.case, walk.belief(), walk.open())
        if step.proposal.action is Action.HELP:
            walk.help()
        elif step.proposal.action is Action.CHECK:
            check = walk.card.check(step.step)
            assert check is not None
            walk.look(check)
        else:
            repair = walk.card.repair(step.step)
            assert repair is not None
            walk.repair(repair)


def as_written(walk: Walk) -> None:
    """As the page says: from check to check by its links, a repair where they lead."""
    card = walk.card
    here: Check | Repair | None = card.checks[0]
    while not walk.cured:
        open_checks = [check for _, check in walk.open().checks]
        open_repairs = [repair for _, repair in walk.open().repairs]
        check = next((c for c in open_checks if c is here), None)
        repair = next((r for r in open_repairs if r is here), None)
        if check:
            here = _turn(card, check, walk.look(check))
        elif repair:
            walk.repair(repair)
            here = None
        elif open_checks:
            here = open_checks[0]
        elif open_repairs:
            here = likeliest(walk, open_repairs)
        else:
            walk.help()


def _turn(card: Card, check: Check, answer: int) -> Check | Repair | None:
    """Where the page sends the reader after an answer."""
    link = check.findings[answer].next
    if link:
        target = link.target.removeprefix("#")
        return card.check(target) or card.repair(target)
    after = card.checks.index(check) + 1
    return card.checks[after] if after < len(card.checks) else None


def likeliest_first(walk: Walk) -> None:
    """Repairs alone, the likeliest first, whatever they cost."""
    while not walk.cured:
        repairs = [repair for _, repair in walk.open().repairs]
        if repairs:
            walk.repair(likeliest(walk, repairs))
        else:
            walk.help()


def likeliest(walk: Walk, repairs: list[Repair]) -> Repair:
    """The repair that is likeliest to cure, by what is believed now."""
    belief, card = walk.belief(), walk.card

    def chance(repair: Repair) -> float:
        return sum(belief.of(c.id) for c in card.causes if c.cured_by(repair.id))

    return max(repairs, key=chance)
