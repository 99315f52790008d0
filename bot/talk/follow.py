"""What the conversation does of its own accord: propose the next step, end a proof."""

from bot.diagnose.planner import Action
from bot.diagnose.problem import Open, Step, propose
from bot.job.events import (
    CardTurned,
    CheckProposed,
    Event,
    Guessed,
    HelpProposed,
    ProofEnded,
    RepairProposed,
    WatchProposed,
)
from bot.job.job import Job, Skip, Stage
from bot.job.ledger import Hazard
from bot.model.card import Card, Check, Repair
from bot.model.truck import out_of_reach
from bot.talk.library import (
    Library,
    View,
    Where,
    finding_of,
    sayable,
)

MOST_PLAYED_BACK = 2


def follow(view: View, library: Library) -> Event | None:
    """The event that comes next without the person, or None: it is their turn."""
    job = view.job
    if job.stage is Stage.PROVE:
        enough = job.showed and job.clean >= view.cycles_needed
        return ProofEnded() if enough else None
    if job.doubt or job.passing:
        return None
    if job.stage is not Stage.CHECK or job.step or job.guess or not view.card:
        return None
    first = _closing(view, view.card)
    return first or _volunteered(view, view.card, library) or next_step(view, view.card)


def _closing(view: View, card: Card) -> Event | None:
    """The check, or else the repair, that closes the hazard in the way of the trial."""
    wanted = view.job.closing
    hazard = next((h for h in view.ledger.hazards if wanted and h.key == wanted), None)
    if hazard is None:
        return None
    if hazard.card != card.id:
        return CardTurned(hazard.card)
    if hazard.checks:
        return CheckProposed(hazard.checks[0])
    return RepairProposed(hazard.repairs[0]) if hazard.repairs else None


def next_step(view: View, card: Card) -> Event:
    """The step to put on the table."""
    if view.job.as_written:
        written = _as_written(view, card)
        if written:
            return written
    best = best_step(view)
    if waiting(view) and _is_better_watched(view, best):
        return WatchProposed()
    if best.proposal.action is Action.HELP:
        home = way_home(view)
        return RepairProposed(home.id) if home else HelpProposed()
    if best.card != card.id:
        return CardTurned(best.card)
    if best.proposal.action is Action.CHECK:
        return CheckProposed(best.step)
    return RepairProposed(best.step)


def best_step(view: View) -> Step:
    """The cheapest sure way on; what was put off comes back when nothing else is."""
    assert view.belief is not None
    assert view.case is not None
    best = propose(view.case, view.belief, still_open(view))
    if best.proposal.action is Action.HELP:
        again = frozenset({Skip.PUT_OFF})
        best = propose(view.case, view.belief, still_open(view, again))
    return best


def way_home(view: View) -> Repair | None:
    """The get-home measure for what is most believed that is still open, or None."""
    card, belief, taken = view.card, view.belief, view.job.measure
    if card is None or belief is None:
        return None
    best, most = None, LEAST_BELIEVED
    for repair in card.repairs:
        cured = sum(belief.of(c.id) for c in card.causes if c.cured_by(repair.id))
        is_taken = taken is not None and taken.repair == repair.id
        passed = view.job.passed_over(repair.id) is not None
        passed = passed or not is_for(view, repair)
        passed = passed or bool(view.ledger.holding_back(repair, card.id))
        if repair.is_get_home and not is_taken and not passed and cured > most:
            best, most = repair, cured
    return best


def held_back(view: View) -> tuple[Hazard, ...]:
    """The hazards that keep undone steps of the card on the table from being done."""
    card, job = view.card, view.job
    if card is None:
        return ()
    made = {tried.repair for tried in view.tried if tried.card == card.id}
    undone: list[Check | Repair] = [c for c in card.checks if _unasked(job, c)]
    undone += [r for r in card.repairs if r.id not in made and not r.is_get_home]
    steps = (step for step in undone if is_for(view, step))
    found = (h for step in steps for h in view.ledger.holding_back(step, card.id))
    return tuple(dict.fromkeys(found))


def is_for(view: View, step: Check | Repair) -> bool:
    """Whether a step is for such a truck as this, as far as is known."""
    return view.truck is None or view.truck.suits(step.needs.only)


LEAST_BELIEVED = 0.1
"""A measure for causes less believed than this is not proposed. Our choice."""


def waiting(view: View) -> tuple[Check, ...]:
    """The checks of the card on the table that wait for the fault to show."""
    if view.job.shows is not False or view.card is None:
        return ()
    unasked = (check for check in view.card.checks if _unasked(view.job, check))
    return tuple(check for check in unasked if check.needs_showing)


SURE_ENOUGH = 0.5
"""With less to go by nothing is repaired while a check waits. Our choice."""


def _is_better_watched(view: View, best: Step) -> bool:
    """Whether to wait for the fault rather than give up, or repair on a guess."""
    action = best.proposal.action
    blind = action is Action.REPAIR and view.cure_chance(best.step) < SURE_ENOUGH
    return action is Action.HELP or blind


def still_open(view: View, again: frozenset[Skip] = frozenset()) -> Open:
    """What can still be done, on all cards in play.

    What is for other trucks is left out, what comes only after a check waits for it. A
    check that reads a fact which is known already is not asked again; one whose
    answer told of a fault that has been mended is. What needs a tool that is not here
    cannot be done; what needs the fault to show waits while it hides, and comes first
    once it is caught. What needs a trial drive or the engine waits while an open hazard
    forbids that. A get-home measure is no repair.
    """
    job, cards = view.job, view.case.cards if view.case else ()
    lacking = (*job.lacking, *(view.truck.lacks if view.truck else ()))

    def is_open(card: Card, step: Check | Repair) -> bool:
        why = job.passed_over(step.id, card.id)
        passed_over = why is not None and why not in again
        can = is_for(view, step) and not out_of_reach(_means(step), lacking)
        return can and not passed_over

    def has_its_turn(card: Card, step: Check | Repair) -> bool:
        """Whether every check that must come before it is answered, or cannot be."""
        first = (card.checks[n - 1] for n in step.needs.not_before)
        return all((card.id, c.id) in heard or not is_open(card, c) for c in first)

    heard = {(answer.card, answer.check) for answer in view.heard}
    done = [c for card in cards for c in card.checks if (card.id, c.id) in heard]
    known = {check.needs.fact for check in done} - {""}
    made = {(tried.card, tried.repair) for tried in view.tried}
    checks = tuple(
        (card, check)
        for card in cards
        for check in card.checks
        if (card.id, check.id) not in heard
        and check.needs.fact not in known
        and not (job.shows is False and check.needs_showing)
        and not view.ledger.holding_back(check, card.id)
        and is_open(card, check)
        and has_its_turn(card, check)
    )
    caught = tuple(pair for pair in checks if job.shows and pair[1].needs_showing)
    repairs = tuple(
        (card, repair)
        for card in cards
        for repair in card.repairs
        if not repair.is_get_home
        and not view.ledger.holding_back(repair, card.id)
        and (card.id, repair.id) not in made
        and is_open(card, repair)
        and has_its_turn(card, repair)
    )
    ready = frozenset(s.name for check in done for s in check.needs.truck)
    return Open(caught or checks, repairs, ready, view.truck)


def _means(step: Check | Repair) -> tuple[str, ...]:
    """The tools of a step, and a second person where its instructions speak of one."""
    spoken = " ".join(block.text for block in step.body).lower()
    return (*step.needs.tools, HELPER) if HELPER in spoken else step.needs.tools


HELPER = "helper"


def _as_written(view: View, card: Card) -> Event | None:
    """The next check or repair for one who follows the page; None at its end."""
    job = view.job
    seen: set[str] = set()
    here: Check | Repair | None = next(iter(card.checks), None)
    while isinstance(here, Check) and here.id not in seen:
        seen.add(here.id)
        answer = job.answered(here.id)
        waits = job.shows is False and here.needs_showing
        waits = waits or not is_for(view, here)
        waits = waits or bool(view.ledger.holding_back(here, card.id))
        if answer is None and job.passed_over(here.id) is None and not waits:
            return CheckProposed(here.id)
        here = _turn_page(card, here, answer)
    held = view.ledger.holding_back(here, card.id) if here else ()
    if isinstance(here, Repair) and not held and _may_try(job, here):
        return RepairProposed(here.id)
    left = [
        check
        for check in card.checks
        if _unasked(job, check) and is_for(view, check)
        if not view.ledger.holding_back(check, card.id)
    ]
    return CheckProposed(left[0].id) if left else None


def _unasked(job: Job, check: Check) -> bool:
    return job.answered(check.id) is None and job.passed_over(check.id) is None


def _may_try(job: Job, repair: Repair) -> bool:
    made = {(tried.card, tried.repair) for tried in (*job.failed, *job.mended)}
    return (job.card, repair.id) not in made and job.passed_over(repair.id) is None


def _turn_page(card: Card, check: Check, answer: str | None) -> Check | Repair | None:
    finding = finding_of(card, check.id, answer) if answer is not None else None
    if finding and finding.next:
        target = finding.next.target.removeprefix("#")
        return card.check(target) or card.repair(target)
    after = card.checks.index(check) + 1
    return card.checks[after] if after < len(card.checks) else None


def _volunteered(view: View, card: Card, library: Library) -> Guessed | None:
    """A finding that the person's own words gave already, to be played back."""
    job = view.job
    heard = [answer for answer in job.answers if answer.words]
    most = MOST_PLAYED_BACK + len(job.told)
    if len(heard) + len(job.denied) >= most:
        return None
    found = [
        (sure, Guessed(check.id, answer, clause))
        for clause in (*job.words, *job.told)
        for check in _first_to_ask(job, card)
        for sure, answer in stated(card, check, clause, library)
        if (check.id, answer) not in job.denied
        and not (job.shows is False and check.needs_showing)
    ]
    return max(found, key=lambda pair: pair[0])[1] if found else None


def stated(
    card: Card, check: Check, words: str, library: Library
) -> list[tuple[float, str]]:
    """The finding of a check that words state outright: none or one, (how sure, it)."""
    found = library.volunteered(words, sayable(check), Where(card.id, check.id))
    return [(found.sureness, found.text)] if found else []


def _first_to_ask(job: Job, card: Card) -> list[Check]:
    """The checks without an answer; while one of them guards a life, only those."""
    unasked = [check for check in card.checks if _unasked(job, check)]
    return [check for check in unasked if check.needs.first] or unasked
