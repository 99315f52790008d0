"""What speaks for and against a page: the table beside plain arithmetic; its laws."""

from array import array
from collections.abc import Sequence

import numpy as np
import pytest

from bot.language.lexicon import EMPTY
from bot.match.evidence import SHRINK, Evidence, evidence, mean_and_spread
from bot.match.memory import MemoryIndex
from bot.match.rank import rank
from bot.match.records import Signs, record_of
from bot.match.rows import NUMBER, Row, columns_of, packed, unpacked

SIGNS = {"a": 10, "b": 5, "c": 40}
STANDS = {
    "tyre": {"a": 8, "c": 1},
    "lamp": {"b": 4},
    "hiss": {"a": 2, "b": 1, "c": 8},
}
PAGES = array(NUMBER, SIGNS.values())


def told(features: list[str], looked_at: Sequence[int] = (0, 1, 2)) -> dict[str, float]:
    """The evidence for each page, by its name."""
    rows = []
    for stands in (STANDS[f] for f in features if f in STANDS):
        entries = [(n, stands[c], 0, b"") for n, c in enumerate(SIGNS) if c in stands]
        kept = packed(columns_of(entries), PAGES, term=False)
        rows.append(Row({0: unpacked(kept, term=False)}))
    found = evidence([rows], PAGES, len(SIGNS), looked_at)
    return {name: found[n] for n, name in enumerate(SIGNS) if n in found}


def by_numpy(features: list[str]) -> dict[str, float]:
    """The same, written from the formula with whole matrices."""
    cards = list(SIGNS)
    size = np.array([SIGNS[c] for c in cards], float)
    n = np.array([[STANDS[f].get(c, 0) for c in cards] for f in features], float)
    shares = n / size
    mean = shares.mean(axis=1, keepdims=True)
    part = shares / shares.sum(axis=1, keepdims=True)
    logs = np.log(np.where(part > 0, part * len(cards), 1))
    divergence = (part * logs).sum(axis=1)
    often = n.sum(axis=1)
    weight = np.sqrt(often / (often + 1) * divergence / np.log(len(cards)))
    ratio = np.log((n / mean + SHRINK) / (size + SHRINK))
    total = (weight[:, None] * ratio).sum(axis=0) / np.sqrt(weight.sum())
    return dict(zip(cards, map(float, total), strict=True))


@pytest.mark.parametrize(
    "features", [["tyre"], ["lamp", "hiss"], ["tyre", "lamp", "hiss"]]
)
def test_table_is_the_formula(features: list[str]) -> None:
    assert told(features) == pytest.approx(by_numpy(features), rel=1e-6)


def test_pages_looked_at_alone_are_told_the_same() -> None:
    every = told([*STANDS])
    for n, name in enumerate(SIGNS):
        assert told([*STANDS], (n,))[name] == pytest.approx(every[name])


def test_a_word_of_other_pages_speaks_against_a_page() -> None:
    found = told(["tyre"])
    assert found["a"] > found["c"]
    assert found["a"] > found["b"]
    assert told(["never said"]) == dict.fromkeys(SIGNS, 0.0)


def test_how_far_a_page_stands_out_is_in_standard_deviations() -> None:
    values = {"a": 3.0, "b": 1.0, "c": 2.0}
    of_all = mean_and_spread(values.values())
    assert of_all == pytest.approx((2.0, np.std([3, 1, 2])))
    assert Evidence(values, *of_all, 0.0).stands_out("a") == pytest.approx(
        1 / np.std([3, 1, 2])
    )
    alone = Evidence({"a": 3.0}, *mean_and_spread([3.0]), 0.0)
    assert alone.stands_out("a") == 0.0


def test_a_thin_page_is_found_beside_thick_ones() -> None:
    """Four signs of its own among pages of forty that share its commoner words."""
    thick = [
        record_of(
            (f"thick{n}", f"Page {n}"),
            Signs(
                [f"wheel noise kind {n} number {m} while driving" for m in range(40)]
            ),
            (),
            EMPTY,
        )
        for n in range(5)
    ]
    thin = record_of(
        ("thin", "It wobbles"),
        Signs(
            [
                "steering wheel wobbles while driving",
                "wobble in the wheel",
                "front end wobbling",
                "wobbly at speed",
            ]
        ),
        (),
        EMPTY,
    )
    index = MemoryIndex([*thick, thin], EMPTY)
    found = rank("a wobbling wheel, some noise while driving", index)
    assert found.cards[0].card == "thin"
