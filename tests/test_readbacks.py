"""What is read back is not turned round by what stands behind a yes or a no.

A smoke of `tools/readbacks.py`, which tries every word of the lexicon with all of its
forty continuations, and two hundred dangers behind a yes or a no at every stage.
"""

from pathlib import Path

import pytest
import readbacks

from bot.desk.library import KbLibrary
from bot.job.job import Job
from bot.store.journal import Journal
from bot.talk.offer import declined
from tests.seeds import seed

STEP = 197


@pytest.fixture(scope="module")
def library(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> KbLibrary:
    home = seed(tmp_path_factory.mktemp("home"))
    return KbLibrary(str(kb), str(home), Journal(home))


def test_no_yes_or_no_is_turned_round(library: KbLibrary) -> None:
    counts, wrong = readbacks.turned(STEP, library)
    assert not [line for line in wrong if not line.startswith("cause")]
    assert counts["finding right"] > 4 * counts["finding again"]
    assert counts["danger right"] > 20 * counts["danger again"]


def test_no_danger_is_swallowed_behind_a_yes_or_a_no(library: KbLibrary) -> None:
    tried, lost = readbacks.swallowed(readbacks.SMOKE, library)
    assert tried > 100
    assert len(lost) <= tried // 20


def test_a_no_with_more_behind_it_keeps_the_card_it_speaks_for(
    library: KbLibrary,
) -> None:
    offered = ("tyre-slow-leak", "air-leaks-parked", "inflation-slow")
    rest = "the tyres are fine, the brake air is gone every morning"
    left = declined(Job(), offered, rest, library)
    assert left == ("tyre-slow-leak", "inflation-slow")
    assert declined(Job(), offered, "it is something else", library) == offered
