"""`chock spares`: what to carry on a trip."""

import json
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path

from bot.cli.lines import WIDTH, columns, wrapped
from bot.cli.progress import reading
from bot.cli.talk import meant
from bot.desk.library import KbLibrary
from bot.desk.noting import distance_km
from bot.desk.spares import (
    KM_A_FAULT,
    PRIOR_FAULTS,
    STRANDED_MONEY,
    YEARLY_KM,
    Carried,
    Journey,
    Limits,
    Packed,
    pack,
)
from bot.model.place import BotError
from bot.store.folders import home_folder, kb_folder
from bot.store.journal import Journal
from bot.talk.wording import percent


def spares(asked: Namespace) -> int:
    """Print the list for a trip, the worthiest part first."""
    if not asked.trip:
        raise BotError("say how far the trip goes, e.g. chock spares 3000 km --kg 60")
    for name, value in (("kg", asked.kg), ("money", asked.money)):
        if value is not None and not 0 < value < 1e6:
            raise BotError(f"--{name} {value:g} is no limit; write e.g. --{name} 60")
    stranded = STRANDED_MONEY if asked.stranded is None else asked.stranded
    if not 0 < stranded < 1e7:
        raise BotError(
            f"--stranded {stranded:g} is no cost; write e.g. --stranded 1500"
        )
    km = distance_km(" ".join(asked.trip))
    kb, home = kb_folder(asked.kb, asked.home), home_folder(asked.home)
    journal = Journal(Path(home))
    library = KbLibrary(kb, home, journal, meant(home, asked.truck), reading)
    journey = Journey(km, Limits(asked.kg, asked.money), stranded)
    found = pack(library, journal, home, kb, journey)
    if asked.json:
        print(json.dumps(_row(found)))
        return 0
    for line in _lines(found, journey):
        print(line)
    return 0


def _lines(found: Packed, journey: Journey) -> Iterator[str]:
    width = columns(WIDTH)
    limits = journey.limits
    within = [f"{limits.kg:g} kg"] if limits.kg else []
    within += [f"{limits.money:g} money"] if limits.money else []
    under = f", within {' and '.join(within)}" if within else ""
    yield from wrapped(
        f"For {journey.km:,.0f} km with {found.truck}{under}. Being stranded is taken "
        f"to cost {journey.stranded:g}.",
        width,
    )
    yield ""
    for row in found.carried:
        yield from _told(row, width)
    if any(row.is_guess for row in found.carried):
        yield from wrapped(GUESSED, width)
    if not found.carried:
        yield "Nothing that is not aboard is worth carrying."
    yield ""
    yield from wrapped(_sum_of(found), width)
    if found.aboard:
        parts = ", ".join(f"{row.number} {row.spare.name}" for row in found.aboard)
        yield from wrapped(f"Aboard already, and counted: {parts}.", width)
    if found.left:
        parts = ", ".join(f"{r.number} {r.spare.name}" for r in found.left)
        yield from wrapped(f"Worth carrying too, but over a limit: {parts}.", width)
    yield from wrapped(_grounds(found), width)


def _told(row: Carried, width: int) -> Iterator[str]:
    """A part in a line, and under it what it is for."""
    spare, often = row.spare, _often(row.wanted)
    about = "about " if row.is_guess else ""
    kg, money = row.number * spare.kg, row.number * spare.money
    figures = f"{about}{kg:.3g} kg, {money:,.0f} money; wanted {often}"
    yield from wrapped(f"{row.number} {spare.name}: {figures}", width, "", "    ")
    more = f" (and {len(row.uses) - 1} more)" if len(row.uses) > 1 else ""
    yield from wrapped(f"{row.uses[0]}{more}", width, "    ", "    ")


GUESSED = (
    "A weight with 'about' is guessed; note your own under 'weights:' in the note of "
    "the truck."
)


def _often(wanted: float) -> str:
    if wanted >= 1:
        return f"{wanted:.1f} times a trip"
    return f"on one such trip in {round(1 / wanted):,}"


def _sum_of(found: Packed) -> str:
    kg = sum(row.number * row.spare.kg for row in found.carried)
    money = sum(row.number * row.spare.money for row in found.carried)
    share = 1 - found.packed / found.bare if found.bare else 0.0
    return (
        f"Together {kg:.3g} kg and {money:,.0f} money. Going without parts would cost "
        f"{found.bare:,.0f} on average; with these {found.packed:,.0f}, "
        f"{percent(share)} less."
    )


def _grounds(found: Packed) -> str:
    """What the rates rest on, so that nobody takes them for more."""
    guess = (
        f"a fault every {KM_A_FAULT:g} km, each page alike likely (our choice, worth "
        f"{PRIOR_FAULTS:g} faults seen)"
    )
    if not found.own.times:
        return (
            f"How often faults come is only assumed: {guess}. Each job that you close "
            "makes it truer; chock truck since DATE and yearly KM help."
        )
    yearly = "" if found.has_distance else f", at {YEARLY_KM:g} km a year (our choice)"
    return (
        f"How often faults come rests on {found.own.times:g} closed jobs of this truck "
        f"in about {found.own.km:,.0f} km{yearly}, and on an assumption: {guess}. What "
        "causes them rests on the pages' words and on all jobs."
    )


def _row(found: Packed) -> dict[str, object]:
    return {
        "truck": found.truck,
        "carry": [_part(row) for row in found.carried],
        "aboard": [_part(row) for row in found.aboard],
        "over a limit": [_part(row) for row in found.left],
        "cost without": found.bare,
        "cost with": found.packed,
        "faults expected": found.faults,
        "own jobs": found.own.times,
        "own km": found.own.km,
    }


def _part(row: Carried) -> dict[str, object]:
    return {
        "part": row.spare.name,
        "number": row.number,
        "kg": row.spare.kg,
        "kg is a guess": row.is_guess,
        "money": row.spare.money,
        "wanted": row.wanted,
        "saves": row.saves,
        "for": list(row.uses),
    }
