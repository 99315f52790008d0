"""What to carry: against Poisson's law, a simulation, and an exact optimum."""

import json
import random
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.stats import poisson

from bot.cards.weights import read_weights
from bot.cli.main import main
from bot.desk.spares import weights_or_faults
from bot.desk.truck import keep
from bot.diagnose.failures import (
    GETS_HOME,
    KM_A_FAULT,
    STRANDS,
    Asking,
    Store,
    Watched,
    faults_a_km,
    part_names,
    wants,
    weight_of,
)
from bot.diagnose.spares import HELD, Limits, Spare, Trip, Want, best_load, unmet
from bot.model.place import Fault
from bot.model.truck import Truck
from tests.seeds import seed
from tests.test_talk import drain

MOST = 4


@pytest.mark.parametrize("expected", [0.01, 0.5, 3.0, 4.32])
@pytest.mark.parametrize("stock", [0, 1, 3, 8])
def test_unmet_is_what_poissons_law_leaves(stock: int, expected: float) -> None:
    """SciPy's law, summed over every count above the stock."""
    counts = np.arange(stock + 1, stock + 80)
    wanted = float(sum((counts - stock) * poisson.pmf(counts, expected)))
    assert unmet(stock, expected) == pytest.approx(wanted, abs=1e-9)


def test_unmet_of_a_published_stock() -> None:
    """A logistics textbook's example (*from memory*): 20 parts, 4.32 failures expected.

    Eight spares are enough in 96.75 % of such spans: P(D > 8) is the fall of `unmet`
    from eight to nine.
    """
    assert unmet(8, 4.32) - unmet(9, 4.32) == pytest.approx(1 - 0.9675, abs=5e-5)


def trip(seed_no: int, most_parts: int = 5) -> tuple[Trip, Limits]:
    """A random trip with tight limits."""
    lots = random.Random(seed_no)
    kinds = [0.1, 0.5, 2, 10, 40], [5, 20, 60, 200]
    spares = {
        f"p{n}": Spare(f"p{n}", lots.choice(kinds[0]), lots.choice(kinds[1]))
        for n in range(lots.randint(2, most_parts))
    }
    asked = []
    for n in range(lots.randint(2, int(1.5 * len(spares)) + 1)):
        parts = lots.sample(sorted(spares), min(lots.choice([1, 1, 1, 2]), len(spares)))
        often, loss = lots.choice([0.01, 0.05, 0.2, 0.6]), lots.choice([50, 400, 1500])
        asked.append(Want(f"c{n}", "a", often, loss, tuple(parts)))
    limits = Limits(lots.choice([None, 5, 20, 60]), lots.choice([None, 50, 200, 500]))
    return Trip(tuple(asked), spares), limits


def exact(found: Trip, limits: Limits) -> float:
    """The worth of the best load of at most `MOST` of each, by mixed-integer programme.

    One column a part and number (is the n-th carried?), one a fault (the share of the
    times that it is served, which no part of it may fall short of).
    """
    steps = [(part, n) for part in found.spares for n in range(1, MOST + 1)]
    asked = found.wants
    worth = [-HELD * found.spares[part].money for part, _ in steps]
    worth += [want.expected * want.loss for want in asked]
    rows, highest = [], []
    for at, want in enumerate(asked):
        for part in want.parts:
            serves = [-_serves(found, other, n) * (other == part) for other, n in steps]
            rows.append([*serves, *(float(at == other) for other in range(len(asked)))])
            highest.append(0.0)
    for limit, name in ((limits.kg, "kg"), (limits.money, "money")):
        each = [getattr(found.spares[part], name) for part, _ in steps]
        rows.append([*each, *[0.0] * len(asked)])
        highest.append(np.inf if limit is None else limit)
    whole = np.array([1] * len(steps) + [0] * len(asked))
    told = milp(
        -np.array(worth),
        integrality=whole,
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(np.array(rows), -np.inf, np.array(highest)),
        options={"mip_rel_gap": 1e-9},
    )
    assert told.success
    return float(-told.fun)


def _serves(found: Trip, part: str, nth: int) -> float:
    """The share of the times it is asked for that the n-th of a part is there."""
    asked = found.asked[part]
    more = unmet(nth - 1, asked) - unmet(nth, asked)
    return more / asked if asked else 0.0


def shares(seeds: range, most_parts: int) -> list[float]:
    """By seed, the share of the exact optimum's worth that the list has."""
    found = []
    for n in seeds:
        one, limits = trip(n, most_parts)
        load = best_load(one, limits)
        assert limits.hold(one.weighs(load), one.costs(load))
        best = exact(one, limits)
        if best > 1e-6 and max(load.values(), default=0) <= MOST:
            found.append(one.worth(load) / best)
    return found


def test_list_is_the_exact_optimum_in_nearly_all_small_cases() -> None:
    found = shares(range(80), 5)
    assert len(found) > 50
    assert max(found) < 1 + 1e-6
    assert sum(share > 1 - 1e-6 for share in found) >= 0.97 * len(found)
    assert min(found) > 0.97


def test_list_is_next_to_the_exact_optimum_in_cases_of_forty_parts() -> None:
    found = shares(range(500, 512), 40)
    assert max(found) < 1 + 1e-6
    assert sum(found) / len(found) > 0.99
    assert min(found) > 0.9


def test_loss_is_what_a_simulation_finds_where_faults_share_a_part() -> None:
    """First come, first served, 20,000 trips drawn by numpy; within four errors."""
    asked = (
        Want("a", "x", 0.6, 1000, ("ring",)),
        Want("b", "x", 0.3, 100, ("ring",)),
        Want("c", "x", 0.4, 500, ("hose", "clip")),
    )
    found = Trip(asked, {n: Spare(n, 1, 1) for n in ("ring", "hose", "clip")})
    load = {"ring": 1, "hose": 1, "clip": 1}
    lots, costs = np.random.default_rng(1), []
    for _ in range(20_000):
        left, cost = Counter(load), 0.0
        order = [w for w in asked for _ in range(lots.poisson(w.expected))]
        for at in lots.permutation(len(order)):
            want = order[at]
            if all(left[part] > 0 for part in want.parts):
                left.subtract(want.parts)
            else:
                cost += want.loss
        costs.append(cost)
    error = float(np.std(costs)) / len(costs) ** 0.5
    assert found.loss(load) == pytest.approx(float(np.mean(costs)), abs=4 * error)


def test_what_is_aboard_is_not_taken_again() -> None:
    want = (Want("a", "x", 0.05, 1500, ("hose",)),)
    bare = Trip(want, {"hose": Spare("hose", 1, 20)})
    held = Trip(want, {"hose": Spare("hose", 1, 20, aboard=1)})
    assert best_load(bare, Limits()) == {"hose": 1}
    assert best_load(held, Limits()) == {}


def test_parts_that_are_wanted_together_are_taken_together() -> None:
    want = (Want("a", "x", 0.05, 1500, ("hose", "clip")),)
    both = {n: Spare(n, 1, 20) for n in ("hose", "clip")}
    assert best_load(Trip(want, both), Limits()) == {"clip": 1, "hose": 1}
    assert best_load(Trip(want, both), Limits(money=30)) == {}


def test_rate_is_the_mean_of_a_gamma_law() -> None:
    """Prior and counts add up: with nothing seen it is the assumption, with much seen
    it is what was seen; other trucks weigh less than one's own."""
    none, much = Watched(0, 0), Watched(100, 100_000)
    assert faults_a_km(0.02, none, none) == pytest.approx(0.02 / KM_A_FAULT)
    assert faults_a_km(0.02, much, none) == pytest.approx(1 / 1000, rel=0.1)
    own, other = (faults_a_km(0.02, *pair) for pair in ((much, none), (none, much)))
    assert faults_a_km(0.02, none, none) < other < own


def asked_of_drain(truck: Truck) -> tuple[tuple[Want, ...], Store]:
    card = drain()
    store = Store(truck, {"sealing ring": 0.02}, part_names(card))
    return wants([Asking(card, 1.0)], store, 1000), store


def test_page_asks_for_the_parts_of_the_cheapest_cure_of_each_cause() -> None:
    card, (found, store) = drain(), asked_of_drain(Truck("Heron"))
    assert found
    for want in found:
        cause = card.cause(want.cause)
        assert cause is not None
        cures = [r for r in card.repairs_for(cause) if not r.is_get_home]
        assert all(repair.needs.parts for repair in cures)
        assert want.parts
        assert set(want.parts) <= set(store.spares)
    home = any(r.is_get_home and not r.needs.parts for r in card.repairs)
    assert found[0].loss == 1000 * STRANDS[card.drive] * (GETS_HOME if home else 1)
    assert sum(want.expected for want in found) < 1.0


def test_keepers_own_price_and_weight_count() -> None:
    _, plain = asked_of_drain(Truck("Heron"))
    part = next(iter(plain.spares))
    noted = Truck(
        "Heron", aboard=(part,), prices=((part, 3.0),), weights=((part, 7.0),)
    )
    _, store = asked_of_drain(noted)
    assert store.spares[part] == Spare(part, 7.0, 3.0, 1)


def test_weight_is_that_of_the_name_with_most_words() -> None:
    known = {"hose": 2.0, "air hose": 1.5, "wheel": 180.0}
    assert weight_of("air hoses of the same length", known) == 1.5
    assert weight_of("string", known) is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("belt: heavy\n", "parts.yaml:1: 'heavy' is no weight in kilograms"),
        ("belt: 1\nbelt: 2\n", "'belt' stands twice"),
        ("- belt\n", "write 'part: kilograms'"),
    ],
)
def test_mistake_in_the_weights_is_named_at_its_line(text: str, says: str) -> None:
    found = read_weights(text, "parts.yaml")
    assert isinstance(found, tuple)
    assert says in str(found[0])


def test_weights_of_the_knowledge_base_read(kb: Path) -> None:
    found = weights_or_faults(kb)
    assert not isinstance(found, tuple)
    assert not any(isinstance(kg, Fault) or kg <= 0 for kg in found.values())


def listed(
    home: Path, capsys: pytest.CaptureFixture[str], *words: str
) -> dict[str, object]:
    assert main(["--home", str(home), "spares", *words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert isinstance(told, dict)
    return told


def test_list_keeps_the_limits_and_leaves_out_what_is_aboard(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = seed(tmp_path)
    words = ("3000", "km", "--kg", "5", "--money", "90")
    told = listed(home, capsys, *words)
    rows = told["carry"]
    assert isinstance(rows, list)
    assert rows
    assert sum(row["number"] * row["kg"] for row in rows) <= 5
    assert sum(row["number"] * row["money"] for row in rows) <= 90
    first = rows[0]["part"]
    keep(str(home), "heron", Truck("Heron", aboard=(first,)))
    again = listed(home, capsys, *words)
    assert first in [row["part"] for row in again["aboard"]]  # type: ignore[attr-defined]
    assert again["cost without"] < told["cost without"]  # type: ignore[operator]


def test_longer_trip_and_dearer_stranding_ask_for_more(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = seed(tmp_path)
    few, more, most = (
        len(listed(home, capsys, *words)["carry"])  # type: ignore[arg-type]
        for words in (("500",), ("5000",), ("5000", "--stranded", "9000"))
    )
    assert few < more < most


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "say how far the trip goes, e.g. chock spares 3000 km"),
        (("far",), "'far' is no distance; write e.g. 3000 km"),
        (("30", "psi"), "'30 psi' is no distance"),
        (("3000", "--kg", "0"), "--kg 0 is no limit"),
        (("3000", "--stranded", "-5"), "--stranded -5 is no cost"),
        (("3000", "--truck", "Otter"), "there is no note of a truck 'Otter'"),
    ],
)
def test_wrong_question_is_answered_in_one_line(
    words: tuple[str, ...],
    says: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["--home", str(tmp_path), "spares", *words]) == 1
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
