"""Thin pages beside thick ones, and pages that are not there, through the stored index.

What is asked are wordings of a page's own side file, by people who have not read it,
that the page does not have while they are asked.
"""

from pathlib import Path

import pytest
from figures import paired, two_sided
from growth import THIN, Shelf, missing, places, shelf_of, thin
from scipy.stats import binomtest

from tests.seeds import seed

EVERY = 9
"""Every so many pages are asked for."""

ASKED = 3


@pytest.fixture(scope="module")
def shelf(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    return shelf_of(kb, seed(tmp_path_factory.mktemp("growth")))


@pytest.fixture(scope="module")
def asked(shelf: Shelf) -> list[tuple[str, frozenset[str]]]:
    return [
        (words, frozenset({page}))
        for page in sorted(shelf.held)[::EVERY]
        for words in shelf.beside[page][2 * THIN : 2 * THIN + ASKED]
        if len(shelf.beside[page]) > 2 * THIN + ASKED
    ]


def test_a_page_with_few_wordings_is_found_among_pages_with_many(
    shelf: Shelf, asked: list[tuple[str, frozenset[str]]]
) -> None:
    whole = places(shelf, asked)
    assert sum(place == 1 for place in whole) >= 0.95 * len(asked)
    found = thin(shelf, asked)
    assert len(found) == len(asked) >= 20
    assert sum(place == 1 for place in found) >= 0.33 * len(asked)
    assert sum(1 <= place <= 3 for place in found) >= 0.45 * len(asked)
    assert places(shelf, asked) == whole  # all is as it was


def test_where_a_page_is_not_there_others_seldom_claim_to_fit(
    shelf: Shelf, asked: list[tuple[str, frozenset[str]]]
) -> None:
    claims = missing(shelf, asked)
    assert len(claims) == len(asked)
    assert sum(claims) <= 0.4 * len(claims)  # 9 of 33


def test_changes_between_versions_are_told_from_chance() -> None:
    before = {"a": 1, "b": 2, "c": 0, "d": 1, "only before": 1}
    after = {"a": 1, "b": 1, "c": 3, "d": 0, "only after": 1}
    found = paired(before, after)
    assert found["against before, hit@1"] == {
        "queries": 4.0,
        "won": 1.0,
        "lost": 1.0,
        "by chance": 1.0,
    }
    assert found["against before, hit@3"]["won"] == 1.0


@pytest.mark.parametrize("one", range(0, 30, 3))
@pytest.mark.parametrize("other", range(0, 30, 7))
def test_chance_is_that_of_an_exact_binomial_test(one: int, other: int) -> None:
    if one + other:
        wanted = binomtest(one, one + other).pvalue
        assert two_sided(one, other) == pytest.approx(wanted)
