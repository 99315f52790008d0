"""Measure the diagnosis: `python tools/simulate.py [--kb kb] [--jobs N] [--json FILE]`.

Against the exact optimum on small random problems; against a listed walk on larger
ones; on the project's own cards against their written order; whether 70 % means 70 %;
how long one decision takes beside a fixed loop; and what recorded outcomes teach. Seeds
are fixed. Informational: nothing fails.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from dataclasses import replace
from math import sqrt
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from doubles import doubles
from exact import optimum, policy_cost
from figures import SEED, calibration_error, interval, show
from problems import Problem, problem, with_blanks
from teaching import teaching
from walks import Walk, as_written, by_planner, likeliest_first

from bot.cards.read import read_card
from bot.diagnose.planner import Action, best_step, left_by, split
from bot.model.card import Card

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Figures = dict[str, float | tuple[float, float, float]]


def against_optimum(problems: int) -> Figures:
    """Expected cost over the exact optimum; then with a fifth of the bearings blank."""
    plain, blank = [], []
    for seed in range(problems):
        true = problem(seed)
        best = optimum(true)
        plain.append(policy_cost(true) / best)
        blank.append(policy_cost(with_blanks(true, seed), true) / best)
    return {
        "problems": float(problems),
        "cost / optimum, mean": interval(plain),
        "median": statistics.median(plain),
        "95th percentile": sorted(plain)[int(0.95 * problems)],
        "worst": max(plain),
        "share optimal": sum(r < 1 + 1e-9 for r in plain) / problems,
        "a fifth left blank, mean": interval(blank),
    }


def larger(problems: int, cases: int) -> Figures:
    """20 causes, 25 checks: sampled jobs, the planner beside a walk down the list."""
    ours: list[float] = []
    listed: list[float] = []
    steps: list[float] = []
    for seed in range(problems):
        given = problem(seed, 20, 25)
        for case in range(cases):
            cost, done = _sampled(given, seed * cases + case, _planned)
            ours.append(cost)
            steps.append(float(done))
            listed.append(_sampled(given, seed * cases + case, _listed)[0])
    return {"cost / listed walk": _ratio(ours, listed), "steps": interval(steps)}


def _sampled(
    given: Problem, seed: int, policy: Callable[[Problem], tuple[Action, str]]
) -> tuple[float, int]:
    """What one job costs, and its steps; the truth is drawn from the prior."""
    draw = Random(seed)
    (truth,) = draw.choices(range(len(given.weights)), given.weights)
    cost, steps, now = 0.0, 0, given
    while True:
        steps += 1
        action, name = policy(now)
        if action is Action.HELP:
            return cost + now.work.at.help, steps
        if action is Action.REPAIR:
            fix = next(f for f in now.work.fixes if f.id == name)
            cost += fix.cost
            if any(cause == truth for cause, _ in fix.cures):
                return cost, steps
            left = tuple(left_by(now.weights, fix))
            now = Problem(left, now.work.after(fix))
        else:
            look = next(k for k in now.work.looks if k.id == name)
            cost += look.cost
            column = [row[truth] for row in look.table]
            (answer,) = Random(f"{seed} {name}").choices(range(len(column)), column)
            now = Problem(tuple(split(now.weights, look)[answer]), now.work.after(look))


def _planned(now: Problem) -> tuple[Action, str]:
    step = best_step(*now)
    return step.action, step.id


def _listed(now: Problem) -> tuple[Action, str]:
    """The next check on the list until a cause is 80 % sure, then its repair."""
    total = sum(now.weights)
    sure = {f.id: now.weights[f.cures[0][0]] / total for f in now.work.fixes}
    best = max(sure, key=lambda name: sure[name], default="")
    if best and (sure[best] >= 0.8 or not now.work.looks):
        return Action.REPAIR, best
    if now.work.looks:
        return Action.CHECK, now.work.looks[0].id
    return Action.HELP, ""


def on_cards(cards: Sequence[Card], jobs: int) -> tuple[Figures, Figures]:
    """Simulated faults of every card: minutes and checks; and the calibration."""
    minutes: dict[str, list[float]] = {name: [] for name in WALKERS}
    checks: dict[str, list[float]] = {name: [] for name in WALKERS}
    stated: list[tuple[float, bool]] = []
    for card in cards:
        for job in range(jobs):
            seed = f"{SEED} {card.id} {job}"
            weights = Walk(card, 0, seed).start.weights
            (truth,) = Random(seed).choices(range(len(weights)), weights)
            for name, walker in WALKERS.items():
                walk = Walk(card, truth, seed)
                walker(walk)
                minutes[name].append(walk.minutes)
                checks[name].append(float(walk.checks))
                if name == "planner":
                    stated += walk.stated
    found: Figures = {"jobs": float(len(cards) * jobs)}
    for name in WALKERS:
        found[f"{name}, minutes"] = interval(minutes[name])
        found[f"{name}, checks"] = interval(checks[name])
    for name in WALKERS:
        if name != "planner":
            found[f"planner / {name}"] = _ratio(minutes["planner"], minutes[name])
    return found, calibration(stated)


WALKERS: dict[str, Callable[[Walk], None]] = {
    "planner": by_planner,
    "written order": as_written,
    "likeliest first": likeliest_first,
}


def _ratio(ours: list[float], theirs: list[float]) -> tuple[float, float, float]:
    """The ratio of the sums, and bounds by resampling the jobs in pairs."""
    lots, n = Random(SEED), len(ours)
    found = []
    for _ in range(500):
        rows = lots.choices(range(n), k=n)
        found.append(sum(ours[r] for r in rows) / sum(theirs[r] for r in rows))
    found.sort()
    return sum(ours) / sum(theirs), found[12], found[-13]


def calibration(stated: Sequence[tuple[float, bool]]) -> Figures:
    """Does 70 % mean 70 %? Of what was said of each repair when it was made.

    z is Spiegelhalter's; within 1.96 of 0 all is well. Then the share that was right
    in each fifth of the scale.
    """
    brier = sum((p - right) ** 2 for p, right in stated) / len(stated)
    over = sum((right - p) * (1 - 2 * p) for p, right in stated)
    spread = sqrt(sum((1 - 2 * p) ** 2 * p * (1 - p) for p, _ in stated))
    found: Figures = {
        "repairs": float(len(stated)),
        "Brier": brier,
        "Spiegelhalter z": over / spread,
        "ECE, ten bins": calibration_error(stated),
        "mean said less mean right": sum(p - right for p, right in stated)
        / len(stated),
    }
    for fifth in range(5):
        low, high = fifth / 5, (fifth + 1) / 5
        inside = [r for p, r in stated if low <= p < high or (p == 1.0 == high)]
        if inside:
            name = f"said {low:.0%} to {high:.0%} ({len(inside)})"
            found[name] = sum(inside) / len(inside)
    return found


def decision_time(problems: int) -> Figures:
    """One decision at 40 causes and 60 checks, beside a loop of a million additions."""
    taken, loops = [], []
    for seed in range(problems):
        given = problem(seed, 40, 60)
        real = replace(given.work, at=replace(given.work.at, unsure=0.1))
        started = time.perf_counter()
        best_step(given.weights, real)
        taken.append(time.perf_counter() - started)
        started = time.perf_counter()
        total = 0
        for number in range(1_000_000):
            total += number
        loops.append(time.perf_counter() - started)
    decision, loop = statistics.median(taken), statistics.median(loops)
    return {
        "decision, ms": 1000 * decision,
        "the loop, ms": 1000 * loop,
        "decision / loop": decision / loop,
    }


def cards_in(kb: Path) -> list[Card]:
    """The fault pages of a knowledge base that can be read."""
    paths = sorted(kb.glob("cards/*/*.md"))
    found = (read_card(path.read_text(encoding="utf-8"), str(path)) for path in paths)
    return [card for card in found if isinstance(card, Card) and not card.is_stub]


def main() -> None:
    """Read the arguments, measure, print."""
    parser = argparse.ArgumentParser(description="Measure the diagnosis.")
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--problems", type=int, default=300)
    parser.add_argument("--jobs", type=int, default=40, help="simulated jobs a card")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    jobs, calibrated = on_cards(cards_in(asked.kb), asked.jobs)
    figures: dict[str, object] = {
        "6 causes, 5 checks": against_optimum(asked.problems),
        "20 causes, 25 checks": larger(asked.problems, 4),
        "own cards": jobs,
        "calibration, own cards": calibrated,
        "two faults, own cards, eight answers": doubles(cards_in(asked.kb), asked.jobs),
        "40 causes, 60 checks": decision_time(15),
        **teaching(cards_in(asked.kb), max(1, asked.jobs // 4)),
    }
    show(figures)
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
