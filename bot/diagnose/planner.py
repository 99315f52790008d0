"""The next step: the check or repair that makes the whole job cheapest on average.

ECR*, the expected cost of repair without any further check, is the cheapest plan of
repairs in falling order of chance-per-cost, with a call for help at the best point of
that order. Set-up that repairs share (a wheel off, the tanks full) is a job of no
chance of its own that must come first: of each group that shares one, the best run of
its members stands in the order as a block.

A check is worth what it lowers ECR* on average over its answers, less what it costs.
That is a lookahead by one step, and can never cost more than the repairs alone. The
best few checks, and the first repair (which is a test as well: the fault is gone or it
is not), are then looked at one step deeper. Sources: Heckerman, Breese and Rommelse
1995 (opening seen); Ottosen and Jensen, cost clusters (abstract seen); the depth by our
own measurements, see tools/simulate.py.

The arithmetic knows only weights and costs; `bot.diagnose.problem` makes them of cards.
Weights are not scaled to one: costs come out multiplied by their sum.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType

from bot.diagnose.evidence import Table

Weights = Sequence[float]
Setups = frozenset[str]

NO_SETUPS: Setups = frozenset()
DEEPER = 8
"""So many of the best checks are looked at one step deeper; 12 gained nothing."""


class Action(Enum):
    """What can be done next."""

    CHECK = "check"
    REPAIR = "repair"
    HELP = "help"


@dataclass(frozen=True, slots=True)
class Fix:
    """A repair: its cost with the try-out, and what it cures.

    `cures` holds (number of a hypothesis, P(it is cured)); `setups` are the states of
    the truck that must be reached first and cost something to reach; `work` is its
    cost without the try-out.
    """

    id: str
    cost: float
    cures: tuple[tuple[int, float], ...]
    setups: Setups = NO_SETUPS
    work: float = 0.0


@dataclass(frozen=True, slots=True)
class Look:
    """A check: what it costs, and P(answer | cause); `first` when it guards a life."""

    id: str
    cost: float
    table: Table
    first: bool = False
    setups: Setups = NO_SETUPS


@dataclass(frozen=True, slots=True)
class Stakes:
    """What the plan is held against.

    `help` is the cost of calling for help, which always ends the job; `setups` what it
    costs to reach each state that is not reached yet; `unsure` the share of checks that
    end in "can't tell"; `worth_while` the least share of ECR* that a check must save to
    be offered.
    """

    help: float
    setups: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    unsure: float = 0.1
    worth_while: float = 0.01

    def reaching(self, wanted: Setups, opened: Setups) -> float:
        """What it costs to reach those states from where the truck is."""
        return sum(self.setups.get(name, 0.0) for name in wanted - opened)


@dataclass(frozen=True, slots=True)
class Work:
    """What is left to be done: repairs, checks, their stakes, the truck's states."""

    fixes: tuple[Fix, ...]
    looks: tuple[Look, ...]
    at: Stakes
    opened: Setups = NO_SETUPS

    def price(self, step: Fix | Look) -> float:
        """What a step costs from where the truck is."""
        return step.cost + self.at.reaching(step.setups, self.opened)

    def after(self, step: Fix | Look) -> "Work":
        """What is left once that step is made."""
        return Work(
            tuple(f for f in self.fixes if f is not step),
            tuple(k for k in self.looks if k is not step),
            self.at,
            self.opened | step.setups,
        )


@dataclass(frozen=True, slots=True)
class Proposal:
    """The step that is best now.

    `cost` is the expected cost to the end of the job if it is taken, `otherwise` the
    same for the best repair (or the call for help) straight away.
    """

    action: Action
    id: str
    cost: float
    otherwise: float


A_HAIR = 1.0 - 1e-9
"""What is cheaper by less is a tie, and ties go to the order given."""


def best_step(weights: Weights, work: Work) -> Proposal:
    """The best next step. Safety checks come before all else, whatever they cost.

    Args:
        weights: of every hypothesis, none of these last.
        work: the checks and repairs that can be made.
    """
    base, fix_id = repairs_alone(weights, work)
    guard = next((look for look in work.looks if look.first), None)
    if guard:
        return Proposal(Action.CHECK, guard.id, base, base)
    worth = [
        (_one_step(weights, look, work, base), n) for n, look in enumerate(work.looks)
    ]
    kept = tuple(work.looks[n] for _, n in sorted(worth)[:DEEPER])
    few = Work(work.fixes, kept, work.at, work.opened)
    best = Proposal(Action.REPAIR if fix_id else Action.HELP, fix_id, base, base)
    enough = base * (1 - work.at.worth_while)
    for look in kept:
        cost = _two_steps(weights, look, few)
        if cost < min(enough, best.cost * A_HAIR):
            best = Proposal(Action.CHECK, look.id, cost, base)
    if fix_id:
        cost = straight_to(weights, fix_id, few)
        if cost <= best.cost:
            best = Proposal(Action.REPAIR, fix_id, cost, base)
    return _look_first(weights, work, best)


LONG_WORK, QUICK_LOOK = 15.0, 10.0
"""Minutes. Before work that long, parts turned into minutes, a look that quick is
taken where it bears on what the work is for. Our choice, the habit of old mechanics:
common practice, no source."""

SURE = 0.95
"""What is known so surely needs no look."""

BEARS = 1.5
"""A look bears on a cause if it makes an answer so many times likelier or rarer."""


def _look_first(weights: Weights, work: Work, best: Proposal) -> Proposal:
    """Looking before working: in place of long work the best quick look at its cause.

    Where nothing but the time of the work speaks against it this costs more on average
    than the cheapest plan, but little; `tools/simulate.py` says how much.
    """
    at_stake = _long_work(weights, work, best)
    quick = [
        look
        for look in work.looks
        if look.id != best.id
        and not look.setups - work.opened
        and look.cost <= QUICK_LOOK
        and any(_bears(look, number) for number in at_stake)
    ]
    if not quick:
        return best
    base = best.otherwise
    costs = [(_one_step(weights, look, work, base), n) for n, look in enumerate(quick)]
    cost, number = min(costs)
    return Proposal(Action.CHECK, quick[number].id, cost, base)


def _long_work(weights: Weights, work: Work, best: Proposal) -> tuple[int, ...]:
    """The hypotheses that a proposed repair cures, if it is long and they unsure."""
    fix = next((f for f in work.fixes if f.id == best.id), None)
    if best.action is not Action.REPAIR or fix is None:
        return ()
    minutes = fix.work + work.at.reaching(fix.setups, work.opened)
    cured = [number for number, _ in fix.cures]
    sure = sum(weights[number] for number in cured) >= SURE * sum(weights)
    return () if sure or minutes < LONG_WORK else tuple(cured)


def _bears(look: Look, number: int) -> bool:
    """Whether an answer is likelier or rarer for a hypothesis than for none of them."""
    ratios = (row[number] / row[-1] for row in look.table if row[-1])
    return any(ratio >= BEARS or ratio <= 1 / BEARS for ratio in ratios)


def straight_to(weights: Weights, fix_id: str, work: Work) -> float:
    """The expected cost of making that repair now, and going on as is best after it."""
    fix = next(f for f in work.fixes if f.id == fix_id)
    paid = work.price(fix) * sum(weights)
    return paid + _best_from(left_by(weights, fix), work.after(fix))


def left_by(weights: Weights, fix: Fix) -> list[float]:
    """The weights after a repair that did not cure."""
    left = list(weights)
    for cause, cured in fix.cures:
        left[cause] *= 1.0 - cured
    return left


def _best_from(weights: Weights, work: Work) -> float:
    """The expected cost from here with at most one more check."""
    best = base = repairs_alone(weights, work)[0]
    total = sum(weights)
    for look in work.looks:
        if look.cost * total < best:
            best = min(best, _one_step(weights, look, work, base))
    return best


def _one_step(weights: Weights, look: Look, work: Work, base: float) -> float:
    """The expected cost of a check and then the repairs alone."""
    then = work.after(look) if look.setups - work.opened else work
    after = sum(repairs_alone(w, then)[0] for w in split(weights, look))
    unsure = work.at.unsure
    return work.price(look) * sum(weights) + (1.0 - unsure) * after + unsure * base


def _two_steps(weights: Weights, look: Look, work: Work) -> float:
    """The expected cost of a check, then the best further check, then repairs."""
    then = work.after(look)
    paid = work.price(look) * sum(weights)
    after = sum(_best_from(w, then) for w in split(weights, look))
    unsure = work.at.unsure
    blind = _best_from(weights, then) if unsure else 0.0
    return paid + (1.0 - unsure) * after + unsure * blind


def split(weights: Weights, look: Look) -> list[list[float]]:
    """The weights after each answer; their sum is the answer's share of the whole."""
    return [
        [p * weight for p, weight in zip(row, weights, strict=True)]
        for row in look.table
    ]


def repairs_alone(weights: Weights, work: Work) -> tuple[float, str]:
    """ECR* of some weights, and the first repair of its plan ("" = call for help)."""
    left = sum(weights)
    spent, best, plan, first = 0.0, work.at.help * left, "", ""
    for fix, paid, cured in _order(weights, work):
        first = first or fix.id
        spent += paid * left
        left -= cured
        total = spent + work.at.help * left
        if total < best:
            best, plan = total, first
    return best, plan


Made = tuple[Fix, float, float]
"""A repair of a plan, what is paid for it (set-up with it), and the weight it cures."""


def _order(weights: Weights, work: Work) -> Iterator[Made]:
    """The repairs in falling order of chance per cost."""
    if any(fix.setups - work.opened for fix in work.fixes):
        return _in_blocks(weights, work)
    seen: set[int] = set()
    for fix in work.fixes:
        for cause, _ in fix.cures:
            if cause in seen:
                return _greedy(weights, work.fixes)
            seen.add(cause)
    return _sorted(weights, work.fixes)


def _sorted(weights: Weights, fixes: Sequence[Fix]) -> Iterator[Made]:
    """No two repairs cure the same: their order is fixed from the start."""
    made = []
    for n, fix in enumerate(fixes):
        cured = 0.0
        for cause, share in fix.cures:
            cured += weights[cause] * share
        made.append((-cured / fix.cost, n, fix, cured))
    made.sort()
    return ((fix, fix.cost, cured) for _, _, fix, cured in made)


def _greedy(weights: Weights, fixes: Sequence[Fix]) -> Iterator[Made]:
    """Repairs that cure the same: each one leaves less for the others."""
    left, waiting = list(weights), list(fixes)
    while waiting:
        fix = max(waiting, key=lambda f: _cured(left, f) / f.cost)
        waiting.remove(fix)
        cured = _cured(left, fix)
        left = left_by(left, fix)
        yield fix, fix.cost, cured


def _in_blocks(weights: Weights, work: Work) -> Iterator[Made]:
    """Repairs of which some share set-up: always the best block next."""
    left, waiting, ready = list(weights), list(work.fixes), work.opened
    at = work.at
    while waiting:
        groups: dict[Setups, list[Fix]] = {}
        for fix in waiting:
            groups.setdefault(fix.setups - ready, []).append(fix)
        blocks = [_best_run(left, group, at, need) for need, group in groups.items()]
        _, block = max(blocks, key=lambda found: found[0])
        for fix in block:
            waiting.remove(fix)
            paid, cured = fix.cost + at.reaching(fix.setups, ready), _cured(left, fix)
            ready |= fix.setups
            left = left_by(left, fix)
            yield fix, paid, cured


def _best_run(
    left: Weights, group: Sequence[Fix], at: Stakes, need: Setups
) -> tuple[float, list[Fix]]:
    """Of repairs that need the same set-up, the run of best chance per cost."""
    order = sorted(group, key=lambda f: -_cured(left, f) / f.cost)
    spent = at.reaching(need, NO_SETUPS)
    cured, best, run = 0.0, -1.0, 1
    for number, fix in enumerate(order, 1):
        spent += fix.cost
        cured += _cured(left, fix)
        if cured / spent > best:
            best, run = cured / spent, number
    return best, order[:run]


def _cured(left: Weights, fix: Fix) -> float:
    return sum(left[cause] * share for cause, share in fix.cures)
