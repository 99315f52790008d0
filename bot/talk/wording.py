"""Small pieces of wording that every message shares."""

from bot.model.card import Card, Needs
from bot.model.fitted import in_words


def percent(chance: float) -> str:
    """A chance in whole per cent, never a bare 0 or 100.

    >>> percent(0.384), percent(0.001), percent(0.9999)
    ('38%', 'under 1%', 'over 99%')
    """
    if chance < 0.01:
        return "under 1%"
    if chance > 0.99:
        return "over 99%"
    return f"{round(chance * 100)}%"


def span(minutes: float) -> str:
    """A length of time in words.

    >>> span(0.5), span(45), span(90), span(720), span(2880)
    ('30 s', '45 min', '1 h 30 min', '12 h', '2 days')
    """
    if minutes < 1:
        return f"{round(minutes * 60)} s"
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    days, rest = divmod(whole, 1440)
    if days and not rest:
        return f"{days} day" if days == 1 else f"{days} days"
    hours, left = divmod(whole, 60)
    return f"{hours} h {left} min" if left else f"{hours} h"


def takes(needs: Needs) -> str:
    """What a step takes, in one line.

    >>> from bot.model.card import Duration, State
    >>> takes(Needs(Duration("5", "min"), tools=("torch",), truck=(State("parked"),)))
    'About 5 min. Tools: torch. Truck: parked.'
    """
    out = [f"About {span(needs.time.minutes)}."]
    if needs.parts:
        parts = (
            " or ".join(f"{c.name} ({c.price.value})" for c in part.choices)
            for part in needs.parts
        )
        out.append(f"Parts: {', '.join(parts)}.")
    if needs.tools:
        out.append(f"Tools: {', '.join(needs.tools)}.")
    if needs.truck:
        states = (
            f"{s.name} ({s.setup} to get there)" if s.setup else s.name
            for s in needs.truck
        )
        out.append(f"Truck: {', '.join(states)}.")
    if needs.only:
        out.append(f"Only: {in_words(needs.only)}.")
    return " ".join(out)


def cause_name(card: Card, cause_id: str) -> str:
    """The name of a cause as the card has it; plain words for none of them."""
    cause = card.cause(cause_id)
    if cause:
        return cause.name
    return cause_id.replace("-", " ") if cause_id else "none of these"
