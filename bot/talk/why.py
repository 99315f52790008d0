"""Why this step, why these suspicions, and what does not fit together."""

from collections.abc import Iterator

from bot.diagnose.belief import Belief, Heard
from bot.diagnose.planner import split
from bot.diagnose.problem import cost_of_going_straight_to, look_of
from bot.diagnose.reasons import effects, fighting, two_faults
from bot.job.job import Job, Stage, StepKind
from bot.model.card import Card, Check, Repair
from bot.model.truck import Truck
from bot.talk.follow import best_step, still_open
from bot.talk.library import View
from bot.talk.messages import Message, Say, Stop
from bot.talk.wording import cause_name, percent, span

MOST_EXPLAINED = 3
WORTH_EXPLAINING = 0.03
MOST_REASONS = 3
DOUBTFUL = 0.4
"""From so much on for none of the causes it is said aloud. Our choice, no source."""


def why(view: View) -> tuple[Message, ...]:
    """The reasons for the step on the table, in a few plain sentences.

    Under a stop, the rest of its page.
    """
    card, belief, job = view.card, view.belief, view.job
    if job.stage is Stage.STOPPED:
        return tuple(Stop(rule, whole=True) for rule in view.rules)
    if card is None or belief is None or job.step is None:
        return (Say("There is no step on the table to give reasons for."),)
    if job.step.kind is StepKind.CHECK and view.check:
        step = " ".join(_why_check(view, card, belief, view.check))
    elif job.step.kind is StepKind.REPAIR and view.repair:
        step = in_a_line(view)
    elif job.step.kind is StepKind.WATCH:
        step = "What is left to check tells nothing until the fault shows."
    else:
        step = "Every check and repair left costs more than it is likely to bring."
    return (Say(step), *_how_heard(job))


LAST_HEARD = 3
"""So many of the last answers are told with how they were heard."""


def _how_heard(job: Job) -> tuple[Message, ...]:
    """How the last answers in words were taken, and by which of the words."""
    told = [answer for answer in job.answers if answer.words][-LAST_HEARD:]
    return tuple(
        Say(f"You said \"{a.words}\": taken as '{a.answer}'{_by(a.why)}.") for a in told
    )


def _by(why: tuple[str, ...]) -> str:
    """The words that spoke for an answer; none where they were a figure."""
    words = ", ".join(f'"{word}"' for word in dict.fromkeys(why))
    return f", by {words}" if words else ""


def _why_check(view: View, card: Card, belief: Belief, check: Check) -> list[str]:
    cause, chance = belief.ranked()[0]
    said = [f"Most likely now: {named(view, cause)} ({percent(chance)})."]
    if check.needs.first:
        said.append("This check comes first because it guards you.")
    said += _meanings(view, card, belief, check)
    if view.job.as_written:
        said.append("It is next because you follow the card's own order.")
        return said
    best = best_step(view)
    if (best.card, best.step) == (card.id, check.id) and not check.needs.first:
        fee = look_of(card, check, belief).cost
        said.append(f"It costs about {span(fee)}.")
        said += _why_not_straight_away(view, belief, best.proposal.cost)
    return said


def _meanings(view: View, card: Card, belief: Belief, check: Check) -> Iterator[str]:
    """What each answer that bears on anything would mean."""
    parts = split(belief.weights, look_of(card, check, belief))
    for finding, weights in zip(check.findings, parts, strict=True):
        if finding.bearings:
            total = sum(weights)
            after = Belief(belief.causes, tuple(weight / total for weight in weights))
            top, p = after.ranked()[0]
            name = "none of these causes" if after.none > p else named(view, top)
            sure = percent(max(p, after.none))
            yield f"'{finding.answer}' would make it {name} ({sure})."


def _why_not_straight_away(
    view: View, belief: Belief, with_check: float
) -> Iterator[str]:
    """What the likeliest cause's repair, made at once, would cost on average."""
    assert view.case is not None
    still = still_open(view)
    cause, _ = belief.ranked()[0]
    for card, repair in still.repairs:
        named_here = card.cause(cause)
        if named_here and named_here.cured_by(repair.id):
            cost = cost_of_going_straight_to(view.case, belief, still, card, repair)
            if cost > with_check:
                yield (
                    f"Why not '{repair.title}' straight away? That way it takes about "
                    f"{span(cost)} on average until it is mended; this way about "
                    f"{span(with_check)}, parts and doubts counted in."
                )
            return


def in_a_line(view: View) -> str:
    """Why this repair, in one sentence."""
    repair, card, belief = view.repair, view.card, view.belief
    if repair is None or card is None or belief is None:
        return ""
    cured = [cause.name for cause in card.causes if cause.cured_by(repair.id)]
    chance = view.cure_chance(repair.id)
    names = " and ".join(cured)
    said = f"It cures: {names}. About {percent(chance)} sure to be it."
    return " ".join((said, *_on_hand(view.truck, repair)))


def _on_hand(truck: Truck | None, repair: Repair) -> Iterator[str]:
    """What of its parts is aboard, and what must be got."""
    if truck is None:
        return
    for part in repair.needs.parts:
        carried = next((c.name for c in part.choices if truck.has(c)), None)
        if carried:
            yield f"Aboard: {carried}."
        else:
            names = " or ".join(choice.name for choice in part.choices)
            yield f"Not noted as aboard: {names}."


def why_suspected(view: View) -> tuple[Message, ...]:
    """For each of the first suspicions the answers that raised or lowered it."""
    case, start, belief = view.case, view.start, view.belief
    if case is None or start is None or belief is None:
        return ()
    said = []
    for cause, chance in belief.ranked()[:MOST_EXPLAINED]:
        if chance < WORTH_EXPLAINING:
            continue
        found = effects(case, start, view.heard, view.tried, cause)[:MOST_REASONS]
        raised = [quoted(e.heard) for e in found if e.ratio > 1]
        lowered = [quoted(e.heard) for e in found if e.ratio < 1]
        reasons = [f"raised by {', '.join(raised)}"] if raised else []
        reasons += [f"lowered by {', '.join(lowered)}"] if lowered else []
        told = "; ".join(reasons) or "by how often it is the culprit, no answer yet"
        said.append(f"{named(view, cause)}: {told}.")
    return (Say(" ".join(said)),) if said else ()


def quoted(heard: Heard) -> str:
    """An answer in quotes."""
    return f"'{heard.answer}'"


def disagreement(view: View) -> tuple[Message, ...]:
    """What is said aloud when the answers do not fit one cause, or one another."""
    case, start, belief = view.case, view.start, view.belief
    if case is None or start is None or belief is None or not view.heard:
        return ()
    again = look_again(view)
    if again:
        check, answer = again
        text = (
            f"These answers fight each other. Look again at '{check.title}', where "
            f"you found {quoted(answer)}: type @ for that check."
        )
        return (Say(text),)
    pair = two_faults(case, start, view.heard)
    if pair:
        one, other = sorted(pair, key=belief.of, reverse=True)
        text = (
            f"Two faults may be at work: {named(view, one)}, and {named(view, other)}. "
            "I go on with the first; if it is better but not gone once that is mended, "
            "say so."
        )
        return (Say(text),)
    if belief.none >= DOUBTFUL:
        return (Say("None of the causes I know of fits this well."),)
    return ()


def look_again(view: View) -> tuple[Check, Heard] | None:
    """The check, on the card at hand, to be made anew because answers fight."""
    if view.case is None or view.start is None or view.card is None:
        return None
    answer = fighting(view.case, view.start, view.heard)
    check = view.card.check(answer.check) if answer else None
    own = answer is not None and answer.card == view.card.id
    return (check, answer) if answer and check and own else None


def named(view: View, cause: str) -> str:
    """The name of a cause as the likeliest card that names it has it."""
    card = view.case.naming(cause) if view.case else None
    return cause_name(card, cause) if card else cause.replace("-", " ")
