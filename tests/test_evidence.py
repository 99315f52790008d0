"""From words to one coherent table of P(answer | cause)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.diagnose.evidence import LEAST, table
from bot.model.card import REST, Bearing, Finding, Strength

S = Strength


def finding(answer: str, *bearings: tuple[Strength, str]) -> Finding:
    return Finding(answer, tuple(Bearing(s, cause) for s, cause in bearings))


WORKED = [
    ((S.SURE,), (S.NOT,), 0.0196, 0.98),
    ((S.SURE,), (), 0.0196, 0.50),
    ((S.LIKELY,), (S.HARDLY,), 0.2, 0.8),
    ((S.LIKELY,), (), 0.2, 0.5),
]


@pytest.mark.parametrize(("yes", "no", "base", "chance"), WORKED)
def test_two_answers_make_the_worked_table(
    yes: tuple[S, ...], no: tuple[S, ...], base: float, chance: float
) -> None:
    """Worked by hand from the module's rule: P(a) = 1 / largest ratio, scaled."""
    rows = table(
        [
            finding("yes", *((s, "a") for s in yes)),
            finding("no", *((s, "a") for s in no)),
        ],
        ["a"],
    )
    assert rows[0][1] == pytest.approx(base, abs=5e-5)
    assert rows[0][0] == pytest.approx(chance, abs=5e-3)


def test_answer_that_parts_two_causes_says_little_of_a_third() -> None:
    """Worked by hand: base 0.5 each; 4 : 1/4 gives 0.941 and 0.059."""
    rows = table(
        [
            finding("yes", (S.LIKELY, "a"), (S.HARDLY, "b")),
            finding("no", (S.HARDLY, "a"), (S.LIKELY, "b")),
        ],
        ["a", "b", "c"],
    )
    assert rows[0] == pytest.approx((0.9412, 0.0588, 0.5, 0.5), abs=5e-5)


strengths = st.one_of(st.none(), st.sampled_from(Strength))


@given(st.lists(st.lists(strengths, min_size=3, max_size=3), min_size=2, max_size=4))
def test_columns_are_probabilities_and_none_is_ever_certain(
    said: list[list[Strength | None]],
) -> None:
    causes = ["a", "b", "c"]
    rows = table(
        [
            finding(str(n), *((s, c) for s, c in zip(row, causes, strict=True) if s))
            for n, row in enumerate(said)
        ],
        causes,
    )
    for column in zip(*rows, strict=True):
        assert math.isclose(sum(column), 1.0)
        assert all(p >= LEAST / 4 for p in column[:-1])


def test_the_rest_means_every_cause_not_named() -> None:
    one = finding("yes", (S.SURE, "a"), (S.HARDLY, REST))
    two = finding("yes", (S.SURE, "a"), (S.HARDLY, "b"))
    other = finding("no")
    assert table([one, other], ["a", "b"]) == table([two, other], ["a", "b"])
