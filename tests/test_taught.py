"""Words learnt from outcomes: which go with which card, and what they may not do."""

from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest
from evaluate import load

from bot.desk.asking import asked
from bot.desk.lessons import learn
from bot.desk.shelf import open_index
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job
from bot.language.lexicon import EMPTY, Lexicon
from bot.match.query import ask
from bot.match.rank import Ranking, rank
from bot.match.records import MemoryIndex, Record, Signs, record_of
from bot.match.taught import (
    MOST_LIFT,
    Taught,
    Told,
    in_memory,
    lessons,
    lift,
    new_words,
    terms_said,
    z_score,
)
from bot.store.index import CardIndex
from bot.store.journal import Journal
from tests.seeds import seed


@pytest.mark.parametrize(
    ("said", "wanted"),
    [((4, 10, 3, 190), 3.364), ((2, 10, 1, 190), 2.360), ((1, 10, 0, 190), 1.326)],
)
def test_z_of_worked_examples(said: tuple[int, int, int, int], wanted: float) -> None:
    """Worked out apart from this program, from the published formula."""
    assert z_score(*said) == pytest.approx(wanted, abs=5e-4)


def told(term: str, card: str, count: int, witness: str = "") -> list[Told]:
    return [Told(frozenset((term,)), card, witness or f"job {n}") for n in range(count)]


OTHERS = [Told(frozenset((f"word{n}",)), f"card{n % 9}", f"o{n}") for n in range(60)]


def test_a_word_said_in_the_jobs_of_one_card_alone_goes_with_it() -> None:
    found = lessons([*told("squat", "here", 6), *OTHERS])
    assert set(found) == {"squat"}
    assert 0 < found["squat"]["here"] < 1


def test_fewer_than_three_witnesses_teach_nothing() -> None:
    assert lessons([*told("squat", "here", 2), *OTHERS]) == {}
    many_of_one = told("squat", "here", 100, "liar")
    assert lessons([*many_of_one, *OTHERS]) == {}


def test_words_that_all_jobs_share_teach_nothing() -> None:
    everywhere = [Told(job.terms | {"truck"}, job.card, job.witness) for job in OTHERS]
    assert "truck" not in lessons(everywhere)


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


def test_lift_is_bounded(index: MemoryIndex) -> None:
    many = {f"w{n}": {"hot": 0.9} for n in range(50)}
    slots = ask(" ".join(many), index).slots
    lifted = lift(slots, in_memory(many))
    assert 1.0 < lifted["hot"] <= 1.0 + MOST_LIFT


def test_learnt_word_lifts_its_card_and_others_rank_as_before(
    index: MemoryIndex,
) -> None:
    taught = in_memory({"squat": {"slow": 0.9}})
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
    kept = new_words({term: {"hot": 0.9, "low": 0.5}}, index)
    assert kept == {term: {"low": 0.5}}


def test_nothing_learnt_lifts_a_card_over_one_whose_own_sign_was_said(
    index: MemoryIndex,
) -> None:
    """Every word of the sign is learnt for every other card, as surely as can be."""
    found = records()
    for own in found:
        for sign in own.signs[1:]:
            others = {other.id: 0.99 for other in found if other.id != own.id}
            learnt = dict.fromkeys(terms_said(sign.text, index), others)
            plain = [c.card for c in rank(sign.text, index).cards]
            lifted = rank(sign.text, index, taught=in_memory(learnt)).cards
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
        Told(terms_said(words, shelf), draw.choice(ids[:6]), f"job {n}")
        for n, (_, words) in enumerate(draw.choices(signs, k=100))
    ]

    place = place_in(shelf)
    kept = in_memory(new_words(lessons(nonsense), shelf))
    before = [place(card, text, in_memory({})) for card, text in signs]
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
    assert set(shelf.taught(["flump"])) == {"flump"}
    assert shelf.edition()


def test_lessons_are_learnt_once_for_the_same_outcomes(
    kb: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bot.desk import lessons as lessons_of_the_desk

    journal = Journal(seed(tmp_path))
    close(journal, "x", "hub-runs-hot", "a-cause")
    times = []

    def counted(index: CardIndex, journal: str, edition: str) -> Taught:
        times.append(edition)
        return learn(index, journal, edition)

    monkeypatch.setattr(lessons_of_the_desk, "learn", counted)
    for _ in range(3):
        asked("hub hot", str(kb), str(tmp_path))
    assert len(times) == 1
    close(journal, "y", "hub-runs-hot", "a-cause")
    asked("hub hot", str(kb), str(tmp_path))
    assert len(times) == 2
