"""Words learnt from outcomes: which go with which card, and what they may not do."""

import shutil
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest
from evaluate import load

from bot.desk.asking import asked
from bot.desk.lessons import MOST_AT_ONCE, learn
from bot.desk.shelf import open_index
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job
from bot.language.lexicon import EMPTY, Lexicon
from bot.match.bm25 import look_up
from bot.match.memory import MemoryIndex
from bot.match.query import ask
from bot.match.rank import Ranking, rank
from bot.match.records import Record, Signs, record_of
from bot.match.taught import (
    MOST_TAUGHT,
    Taught,
    learnt_of,
    nothing,
    terms_said,
    z_score,
)
from bot.store.journal import Journal
from bot.store.lessons import Told, learnt_from
from tests.seeds import seed


@pytest.mark.parametrize(
    ("said", "wanted"),
    [((4, 10, 3, 190), 3.364), ((2, 10, 1, 190), 2.360), ((1, 10, 0, 190), 1.326)],
)
def test_z_of_worked_examples(said: tuple[int, int, int, int], wanted: float) -> None:
    """Worked out apart from this program, from the published formula."""
    assert z_score(*said) == pytest.approx(wanted, abs=5e-4)


def told(term: str, card: str, count: int, first: int = 1000) -> list[Told]:
    terms = frozenset((term,))
    return [Told(first + n, card, terms, keeps=False) for n in range(count)]


OTHERS = [
    Told(n, f"card{n % 9}", frozenset((f"word{n}",)), keeps=False) for n in range(60)
]


def marked(said: str, jobs: Iterable[Told], index: MemoryIndex) -> Mapping[str, float]:
    """By card how strongly what was said goes with it."""
    query = ask(said, index)
    looked = look_up(query, index)
    return learnt_of(query.slots, looked, index, learnt_from(jobs)).marked


CARDS = {
    "low": ["one wheel goes down overnight", "tyre soft by the morning"],
    "hot": ["one hub runs hot", "smell at the wheel after a drive"],
    "slow": ["tyres fill slowly", "the wheel takes an hour to fill"],
}


def records(lexicon: Lexicon = EMPTY) -> list[Record]:
    return [record_of((k, k), Signs(v), (), lexicon) for k, v in CARDS.items()]


@pytest.fixture
def index() -> MemoryIndex:
    return MemoryIndex(records(), EMPTY)


def test_a_word_said_in_the_jobs_of_one_card_alone_goes_with_it(
    index: MemoryIndex,
) -> None:
    found = marked("squat", [*told("squat", "hot", 6), *OTHERS], index)
    assert set(found) == {"hot"}
    assert 0 < found["hot"] < 1


def test_fewer_than_three_jobs_teach_nothing(index: MemoryIndex) -> None:
    assert not marked("squat", [*told("squat", "hot", 2), *OTHERS], index)


def test_words_that_all_jobs_share_teach_nothing(index: MemoryIndex) -> None:
    everywhere = [job._replace(terms=job.terms | {"truck"}) for job in OTHERS]
    assert not marked("truck", everywhere, index)


def test_lift_is_bounded(index: MemoryIndex) -> None:
    words = "squat flump quobble zwirk mard plonk blart"
    said = terms_said(words, index)
    jobs = [job._replace(terms=said) for job in told("", "hot", 40)]
    query = ask(words, index)
    taught = learnt_from([*jobs, *OTHERS])
    found = learnt_of(query.slots, look_up(query, index), index, taught)
    assert 0.0 < found.lift("hot", 0.0) <= MOST_TAUGHT


def test_learnt_word_lifts_its_card_and_others_rank_as_before(
    index: MemoryIndex,
) -> None:
    taught = learnt_from([*told("squat", "slow", 9), *OTHERS])
    before = [c.card for c in rank("the wheel squats", index).cards]
    after = [c.card for c in rank("the wheel squats", index, taught=taught).cards]
    assert before.index("slow") >= after.index("slow")
    assert after[0] == "slow"
    words = "a smell at one wheel"
    assert rank(words, index) == rank(words, index, taught=taught)


if TYPE_CHECKING:
    from bot.match.records import Index

Place = Callable[[str, str, Taught], int]


def place_in(index: "Index") -> Place:
    def place(card: str, words: str, taught: Taught) -> int:
        ranked = rank(words, index, taught=taught).cards
        return next((n for n, c in enumerate(ranked, 1) if c.card == card), 0)

    return place


def test_words_that_a_card_has_are_not_learnt_for_it(index: MemoryIndex) -> None:
    term = next(iter(terms_said("hot", index)))
    jobs = [*told(term, "hot", 9), *told(term, "low", 9, 2000), *OTHERS]
    assert set(marked("hot", jobs, index)) == {"low"}


def test_nothing_learnt_lifts_a_card_over_one_whose_own_sign_was_said(
    index: MemoryIndex,
) -> None:
    """Every word of the sign is learnt for every other card, and its words kept."""
    found = records()
    for own in found:
        for sign in own.signs[1:]:
            said = terms_said(sign.text, index)
            others = [other.id for other in found if other.id != own.id] * 9
            jobs = [Told(n, c, said, keeps=True) for n, c in enumerate(others)]
            plain = [c.card for c in rank(sign.text, index).cards]
            lifted = rank(sign.text, index, taught=learnt_from(jobs)).cards
            after = [c.card for c in lifted].index(own.id)
            assert after <= plain.index(own.id)


def test_hundred_random_outcomes_hide_no_card_from_its_own_signs(
    kb: Path, tmp_path: Path
) -> None:
    """Frozen queries: the signs of every card, before and after much nonsense."""
    shelf = open_index(str(kb), str(seed(tmp_path)))
    signs = [(card.id, sign) for card in load(kb).cards for sign in card.signs[:2]]
    draw = Random(4)
    ids = sorted({card for card, _ in signs})
    nonsense = [
        Told(n, draw.choice(ids[:6]), terms_said(words, shelf), keeps=n % 2 == 0)
        for n, (_, words) in enumerate(draw.choices(signs, k=100))
    ]

    place = place_in(shelf)
    kept = learnt_from(nonsense)
    before = [place(card, text, nothing) for card, text in signs]
    after = [place(card, text, kept) for card, text in signs]
    assert all(1 <= b <= 3 for b, a in zip(after, before, strict=True) if 1 <= a <= 3)
    reciprocal = [sum(1 / p for p in places if p) for places in (before, after)]
    assert reciprocal[1] >= reciprocal[0] - 0.01 * len(signs)


def close(journal: Journal, words: str, card: str, cause: str) -> None:
    number = journal.open_job()
    events = (
        e.Described(words, (), 1.0),
        e.CardChosen(card),
        e.HelpCalled(),
        e.CauseNamed(cause),
        e.Recorded(cause, "", True, False, 1.0, 0.0),
    )
    journal.record(number, Job(), events, "2026-11-26T10:00:00+00:00")


def test_own_jobs_teach_the_next_ranking(kb: Path, tmp_path: Path) -> None:
    """A word that stands on no card, said in six jobs of one and in none of others."""
    journal = Journal(seed(tmp_path))
    for n in range(6):
        close(journal, "she flumps at a wheel", "hub-runs-hot", "a-cause")
        close(journal, "tyres fill slowly", f"inflation-slow{n % 2}", "a-cause")
    close(journal, "flumps", "tyre-slow-leak", NOT_KNOWN)
    journal.close()
    words = "it flumps at one wheel"
    found = asked(words, str(kb), str(tmp_path))[0]
    seed(tmp_path / "fresh")
    fresh = asked(words, str(kb), str(tmp_path / "fresh"))[0]

    def place(ranking: Ranking) -> int:
        return [c.card for c in ranking.cards].index("hub-runs-hot")

    assert place(found) <= place(fresh)
    shelf = open_index(str(kb), str(seed(tmp_path)))
    assert set(shelf.lessons.of(["flump"]).said) == {"flump"}
    assert shelf.lessons.edition()
    assert len(shelf.lessons.known()) == 12


def closed(kb: Path, home: Path, jobs: int) -> Journal:
    """A store with so many closed jobs, of which nothing is learnt yet."""
    journal = Journal(seed(home))
    with journal.copies.filling():
        for n in range(jobs):
            close(journal, f"she flumps in week {n}", "hub-runs-hot", "a-cause")
    return journal


def test_a_question_learns_from_a_few_jobs_and_the_next_goes_on(
    kb: Path, tmp_path: Path
) -> None:
    closed(kb, tmp_path, MOST_AT_ONCE + 5).close()
    shelf = open_index(str(kb), str(tmp_path))
    for many in (MOST_AT_ONCE, MOST_AT_ONCE + 5, MOST_AT_ONCE + 5):
        asked("hub hot", str(kb), str(tmp_path))
        assert len(shelf.lessons.known()) == many


def test_an_outcome_put_right_is_unlearnt(kb: Path, tmp_path: Path) -> None:
    journal = closed(kb, tmp_path, 3)
    shelf = open_index(str(kb), str(tmp_path))
    learn(shelf, str(journal.path))
    assert shelf.lessons.of(["flump"]).said == {"flump": {"hub-runs-hot": 3}}
    entry = journal.entry(2)
    assert entry
    journal.record(
        2, entry.job, (e.CauseNamed(NOT_KNOWN),), "2026-11-27T10:00:00+00:00"
    )
    learn(shelf, str(journal.path))
    assert shelf.lessons.of(["flump"]).said == {"flump": {"hub-runs-hot": 2}}
    assert shelf.lessons.known() == {1, 3}


def test_what_another_store_taught_is_forgotten(kb: Path, tmp_path: Path) -> None:
    home = seed(tmp_path)
    closed(kb, home, 3).close()
    shelf = open_index(str(kb), str(home))
    learn(shelf, str(home / "jobs-2.db"))
    shutil.rmtree(home / "jobs")
    (home / "jobs-2.db").unlink()
    journal = Journal(home)
    close(journal, "it blarts", "tyre-slow-leak", "a-cause")
    learn(shelf, str(journal.path))
    assert shelf.lessons.of(["flump", "blart"]).said == {"blart": {"tyre-slow-leak": 1}}


def test_jobs_in_any_order_teach_the_same(index: MemoryIndex) -> None:
    jobs = [*told("squat", "hot", 9), *told("squat", "low", 2, 2000), *OTHERS]
    draw, terms = Random(7), {"squat", "word1", "word7"}
    wanted = learnt_from(jobs)(terms)
    for _ in range(5):
        draw.shuffle(jobs)
        assert learnt_from(jobs)(terms) == wanted


KEEPING = (e.CardChosen("hub-runs-hot"), e.HelpCalled(), e.CauseNamed("a-cause"))
WORDS = "she flumps and blarts behind me"


def test_kept_words_find_their_page_again_and_forgotten_ones_do_not(
    kb: Path, tmp_path: Path
) -> None:
    """Words of which hardly one stands on a page."""
    home = seed(tmp_path)
    journal = Journal(home)

    def found() -> list[str]:
        ranking = asked(WORDS, str(kb), str(home)).ranking
        return [c.card for c in ranking.cards if ranking.fits]

    assert "hub-runs-hot" not in found()
    number = journal.open_job()
    told_ = (e.Described(WORDS, (), 1.0), *KEEPING)
    end = e.Recorded("a-cause", "", True, False, 1.0, 0.0)
    at = "2026-11-26T10:00:00+00:00"
    job = journal.record(number, Job(), (*told_, end), at)
    assert "hub-runs-hot" not in found()
    job = journal.record(number, job, (e.WordsKept(),), at)
    assert found()[0] == "hub-runs-hot"
    reasons = asked(WORDS, str(kb), str(home)).ranking.cards[0].why
    assert f"much as in the words kept of job {number}" in reasons
    journal.record(number, job, (e.WordsForgotten(),), at)
    assert "hub-runs-hot" not in found()
