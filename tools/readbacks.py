"""Yes and no with anything behind them, at every kind of question that is read back.

`python tools/readbacks.py [--step N] [--json FILE]`: every word for yes and for no in
`kb/speech.yaml`, by itself and with forty continuations, at a finding, a danger, a
trial and a cause; and dangers told behind a yes or a no at every stage. Prints what was
turned round, what was asked again, and what danger was swallowed. `--step 7` tries
every seventh. Nothing is written to a journal.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import yaml

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.desk.library import KbLibrary
from bot.job import events as e
from bot.job.moves import replay
from bot.store.journal import Journal
from bot.talk.hear import hear
from bot.talk.library import look
from bot.talk.messages import Stop

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bot.job.job import Job

BEHIND = (
    "",
    " thanks",
    " thank you so much",
    ", mate",
    ", how often must I say it",
    ", I looked twice",
    ", I am quite sure of it",
    ", my wife says so too",
    ", and that is that",
    ", I swear",
    ", sorry for my english",
    ", what comes next",
    ", hurry up please",
    ", same as this morning",
    ", it is cold out here",
    ", took me a while to see",
    ", had to lie in the mud for that",
    ", second time I type it",
    ", like the book has it",
    ", I checked with the torch",
    ", both of us saw it",
    ", and now",
    ", hands are frozen",
    ", it has always been so",
    ", since about a week",
    ", of that I am certain",
    ", you can write that down",
    ", and I will have a coffee now",
    "!",
    "...",
    ", believe me",
    ", I would bet on it",
    ", by the light of the phone",
    ", the dog agrees",
    ", just had another look",
    ", for what it is worth",
    ", and it starts to rain",
    ", in plain words",
    ", if you ask me",
    ", over and out",
)
"""What people put behind a yes or a no that changes nothing of it."""

CARD, CHECK, ANSWER = "air-leaks-parked", "watch-the-needles-for-one-minute", 0
RULE = "brake-air-low"
SMOKE = 37


def jobs(library: KbLibrary) -> dict[str, Job]:
    """A job at each kind of question that a yes or a no answers."""
    card = library.card(CARD)
    assert card is not None
    check = card.check(CHECK) or card.checks[0]
    start = (e.Described("air is gone by morning", ((CARD, 0.9),), 0.1),)
    at_check = (*start, e.CardChosen(CARD), e.CheckProposed(check.id))
    answer = check.findings[ANSWER].answer
    repair = card.repairs[0].id
    mended = (*at_check, e.RepairProposed(repair), e.RepairDone(repair))
    proving = (*mended, e.ShowedBefore(1, 1))
    return {
        "finding": replay((*at_check, e.Guessed(check.id, answer, "some words"))),
        "danger": replay((*at_check, e.DangerDoubted((RULE,)))),
        "trial": replay((*proving, e.Guessed("", card.proof.clean, "it held"))),
        "cause": replay((*proving, e.CycleClean(), e.ProofEnded())),
    }


def stages(library: KbLibrary) -> dict[str, Job]:
    """A job at every stage at which a person types."""
    card = library.card(CARD)
    assert card is not None
    check = card.check(CHECK) or card.checks[0]
    start = (e.Described("air is gone by morning", ((CARD, 0.9),), 0.1),)
    chosen = (*start, e.CardChosen(CARD))
    at_check = (*chosen, e.CheckProposed(check.id))
    repair = card.repairs[0].id
    at_repair = (*at_check, e.RepairProposed(repair))
    mended = (*at_repair, e.RepairDone(repair))
    proving = (*mended, e.ShowedBefore(1, 1))
    ended = (*proving, e.CycleClean(), e.ProofEnded())
    told = {
        "description": (),
        "cards": start,
        "check": at_check,
        "repair": at_repair,
        "how often": mended,
        "proof": proving,
        "record": (*ended, e.CauseNamed(card.causes[0].id)),
    }
    return {name: replay(events) for name, events in told.items()} | jobs(library)


def said(name: str) -> list[str]:
    """Every wording of an act in `kb/speech.yaml`."""
    speech = yaml.safe_load((ROOT / "kb" / "speech.yaml").read_text(encoding="utf-8"))
    (act,) = (act for act in speech["acts"] if act["is"] == name)
    return [name, *map(str, act["said"])]


def lines(step: int) -> Iterator[tuple[bool, str]]:
    """Whether a yes is meant, and what is typed; every so many of all."""
    number = 0
    for is_yes, name in ((True, "yes"), (False, "no")):
        for word in said(name):
            for behind in BEHIND:
                number += 1
                if number % step == 0:
                    yield is_yes, word + behind


YES = {
    "finding": e.Found,
    "danger": e.StopRaised,
    "trial": e.CycleClean,
    "cause": e.CauseNamed,
}
NO = {
    "finding": e.GuessDenied,
    "danger": e.DangerDenied,
    "trial": e.GuessDenied,
    "cause": None,
}


def outcome(kind: str, job: Job, words: str, library: KbLibrary) -> bool | None:
    """Whether it was taken as a yes, as a no, or as neither and asked again."""
    heard = hear(look(job, library), words, library)
    named = [event for event in heard.events if isinstance(event, e.CauseNamed)]
    if named:
        return bool(named[0].cause)
    kinds = [type(event) for event in heard.events]
    if YES[kind] in kinds and NO[kind] not in kinds:
        return True
    return False if NO[kind] in kinds else None


def turned(step: int, library: KbLibrary) -> tuple[Counter[str], list[str]]:
    """How often each came out right, turned round or asked again; what was turned."""
    found: Counter[str] = Counter()
    wrong = []
    for kind, job in jobs(library).items():
        for is_yes, words in lines(step):
            got = outcome(kind, job, words, library)
            name = "again" if got is None else "right" if got is is_yes else "turned"
            found[f"{kind} {name}"] += 1
            if name == "turned":
                wrong.append(f"{kind}: {words!r} was meant as {is_yes}")
    return found, wrong


def dangers() -> list[str]:
    """Sentences that must raise a rule, by people who have not read the rules."""
    path = ROOT / "tests" / "stops" / "strangers.txt"
    rows = path.read_text(encoding="utf-8").splitlines()
    pairs = [row.partition(": ") for row in rows if not row.startswith("#")]
    return [words for rule, _, words in pairs if words and rule != "-"]


def swallowed(step: int, library: KbLibrary) -> tuple[int, list[str]]:
    """Dangers heard by themselves that are lost behind a yes or no at some stage."""
    lost, tried = [], 0
    for number, words in enumerate(dangers()):
        if number % step or not library.danger(words):
            continue
        for kind, job in stages(library).items():
            for opening in ("no, ", "yes. ", "ok, ", "no. but "):
                typed = opening + words
                bare = replace(job, doubt=()) if kind == "danger" else job
                heard = hear(look(bare, library), typed, library)
                kinds = {type(event) for event in heard.events}
                tried += 1
                said = any(isinstance(message, Stop) for message in heard.says)
                if not said and not kinds & {e.StopRaised, e.DangerDoubted}:
                    lost.append(f"{kind}: {typed!r}")
    return tried, lost


def main() -> None:
    """Try them all and print what came of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as home:
        journal = Journal(Path(home))
        library = KbLibrary(str(ROOT / "kb"), home, journal)
        counts, wrong = turned(asked.step, library)
        tried, lost = swallowed(asked.step, library)
    for name, count in sorted(counts.items()):
        print(f"{name:20}{count:7}")
    print(f"{'dangers tried':20}{tried:7}\n{'swallowed':20}{len(lost):7}")
    print(*wrong, *lost, sep="\n")
    if asked.json:
        found = {**counts, "dangers tried": tried, "swallowed": len(lost)}
        asked.json.write_text(json.dumps(found, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
