"""Why this step: what it costs, and what each answer would mean."""

from bot.diagnose.belief import Belief
from bot.diagnose.planner import split
from bot.diagnose.problem import look_of
from bot.job.job import StepKind
from bot.model.card import Card, Check
from bot.talk.follow import best_step, cure_chance
from bot.talk.library import View
from bot.talk.messages import Message, Say
from bot.talk.wording import cause_name, percent, span


def why(view: View) -> tuple[Message, ...]:
    """The reasons for the step on the table, in a few plain sentences."""
    card, belief, job = view.card, view.belief, view.job
    if card is None or belief is None or job.step is None:
        return (Say("There is no step on the table to give reasons for."),)
    if job.step.kind is StepKind.CHECK and view.check:
        return (Say(" ".join(_why_check(view, card, belief, view.check))),)
    if job.step.kind is StepKind.REPAIR and view.repair:
        return (Say(in_a_line(view)),)
    return (Say("Every check and repair left costs more than it is likely to bring."),)


def _why_check(view: View, card: Card, belief: Belief, check: Check) -> list[str]:
    cause, chance = belief.ranked()[0]
    said = [f"Most likely now: {cause_name(card, cause)} ({percent(chance)})."]
    if check.needs.first:
        said.append("This check comes first because it guards you.")
    look = look_of(card, check, belief)
    for finding, weights in zip(
        check.findings, split(belief.weights, look), strict=True
    ):
        total = sum(weights)
        after = Belief(belief.causes, tuple(weight / total for weight in weights))
        top, p = after.ranked()[0]
        name = "none of these causes" if after.none > p else cause_name(card, top)
        said.append(
            f"'{finding.answer}' would make it {name} ({percent(max(p, after.none))})."
        )
    if view.job.as_written:
        said.append("It is next because you follow the card's own order.")
        return said
    best = best_step(view)
    saved = best.proposal.otherwise - best.proposal.cost
    if (best.card, best.step) == (card.id, check.id) and saved > 0:
        said.append(
            f"It costs about {span(look.cost)} and saves about {span(saved)} on "
            "average against going straight to a repair."
        )
    return said


def in_a_line(view: View) -> str:
    """Why this repair, in one sentence."""
    repair, card, belief = view.repair, view.card, view.belief
    if repair is None or card is None or belief is None:
        return ""
    cured = [cause.name for cause in card.causes if cause.cured_by(repair.id)]
    chance = cure_chance(view, repair.id)
    names = " and ".join(cured)
    return f"It cures: {names}. About {percent(chance)} sure to be it."
