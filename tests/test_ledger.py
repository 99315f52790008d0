"""May it move: only what the pages name lets the truck do more.

Held on a few answers told by hand, and by random walks over all pages: whatever is
answered, the verdict rises by named means alone, and no trial is driven while a hazard
forbids it.
"""

import random
from dataclasses import replace
from functools import reduce
from pathlib import Path

import pytest

from bot.cards.front import SYSTEMS
from bot.desk.library import KbLibrary
from bot.job import events as e
from bot.job.job import Job, Stage
from bot.job.ledger import GUARDED, UNCHECKED, ledger
from bot.job.moves import advance, replay
from bot.model.card import Act, Card, Drive
from bot.store.journal import Journal
from bot.talk.aside import may_it_move
from bot.talk.ask import ask
from bot.talk.finding import Heard
from bot.talk.follow import follow
from bot.talk.library import View, forbids_trial, look
from bot.talk.messages import Say
from bot.talk.owed import sealed
from bot.talk.show import noted
from bot.talk.steps import asked_for_by_name
from tests.seeds import seed

ORDER = list(Drive)
HUB = "hub-runs-hot"
NUT = "A wheel nut is loose or gone, bright round its seat, or trails rust"
ROCKS = (
    "It rocks clearly, 3 mm or more at the tyre's side, and the play is in the bearing"
)
LOOK, ROCK = "look-and-smell-from-a-distance", "lift-spin-and-rock-the-wheel"


@pytest.fixture(scope="module")
def library(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> KbLibrary:
    home = seed(tmp_path_factory.mktemp("home"))
    return KbLibrary(str(kb), str(home), Journal(home))


def begun(card: str, *events: e.Event) -> Job:
    start = e.Described("it does it again", ((card, 0.9),), 0.1)
    return replay((start, e.CardChosen(card), *events))


def made(repair: str, *, clean: int = 9) -> tuple[e.Event, ...]:
    done = (e.RepairProposed(repair), e.RepairDone(repair), e.ShowedBefore(1, 1))
    return (*done, e.CycleClean(clean)) if clean else done


def drive(job: Job, library: KbLibrary) -> Drive:
    return look(job, library).drive


def test_an_unrelated_repair_lifts_nothing(library: KbLibrary) -> None:
    job = begun(HUB, e.Found(ROCK, ROCKS))
    assert drive(job, library) is Drive.DO_NOT_MOVE
    for repair in ("put-the-oil-or-grease-right", "see-to-the-tyre-and-the-load"):
        ended = replay_on(job, *made(repair))
        assert look(ended, library).is_proved
        assert drive(ended, library) is Drive.DO_NOT_MOVE


def replay_on(job: Job, *events: e.Event) -> Job:
    for event in events:
        job = advance(job, event)
    return job


def test_a_repair_counts_when_it_is_proved_and_not_when_it_is_done(
    library: KbLibrary,
) -> None:
    job = begun(HUB, e.Found(ROCK, ROCKS))
    done = replay_on(job, *made("change-the-bearing", clean=0))
    held = look(done, library)
    assert held.drive is Drive.DO_NOT_MOVE
    assert held.ledger.unproved == "Change the bearing"
    assert [hazard.made for hazard in held.ledger.hazards] == [True]
    proved = replay_on(done, e.CycleClean(9))
    assert drive(proved, library) is Drive.CARE
    again = replay_on(done, e.CycleNotClean())
    assert drive(again, library) is Drive.DO_NOT_MOVE


def test_a_hazard_found_after_the_repair_is_not_closed_by_it(
    library: KbLibrary,
) -> None:
    before = begun(HUB, *made("change-the-bearing", clean=0), e.CycleBetter())
    job = replay_on(before, e.Found(ROCK, ROCKS))
    assert drive(job, library) is Drive.DO_NOT_MOVE


def test_another_card_forgets_no_hazard(library: KbLibrary) -> None:
    job = begun(HUB, e.Found(ROCK, ROCKS), e.CardChosen("inflation-panel-dead"))
    assert job.answers == ()
    assert drive(job, library) is Drive.DO_NOT_MOVE
    left = replay_on(begun(HUB, e.Found(ROCK, ROCKS)), e.CardLeft())
    assert drive(left, library) is Drive.DO_NOT_MOVE


def test_a_check_that_is_named_closes_it_and_another_does_not(
    library: KbLibrary,
) -> None:
    job = begun(HUB, e.Found(LOOK, NUT))
    assert drive(job, library) is Drive.DO_NOT_MOVE
    other = replay_on(job, e.Found(ROCK, "It turns freely and quietly like its mate"))
    assert drive(other, library) is Drive.DO_NOT_MOVE
    seen = replay_on(job, e.Found(LOOK, "No, only warm and dry"))
    assert drive(seen, library) is Drive.CREEP  # the page's own, till it is proved


def test_what_nobody_could_tell_closes_nothing(library: KbLibrary) -> None:
    weak, lining = "brakes-weak", "look-at-the-linings"
    burst = (
        "A spring chamber is cracked, dented, rusted in flakes or loose in its clamp"
    )
    job = begun(weak, e.Found(lining, burst))
    assert drive(job, library) is Drive.DO_NOT_MOVE
    opened = look(job, library).ledger.hazards
    for answer in ("Covered, I cannot see in", "Dry, dull, thick, whole"):
        after = look(replay_on(job, e.Found(lining, answer)), library).ledger.hazards
        assert (after == opened) is answer.startswith("Covered")


def test_going_back_takes_a_slip_back(library: KbLibrary) -> None:
    job = begun(HUB, e.Found(ROCK, ROCKS), e.SteppedBack())
    assert drive(job, library) is Drive.CREEP


def test_a_milder_answer_does_not_raise_the_pages_own_verdict(
    library: KbLibrary,
) -> None:
    card = library.card(HUB)
    assert card is not None
    mild = [
        (check.id, finding.answer)
        for check in card.checks
        for finding in check.findings
        if not finding.drive and not finding.stop
    ]
    job = begun(HUB, *(e.Found(*found) for found in mild))
    assert drive(job, library) is card.drive


def test_a_stop_is_lifted_by_those_who_decide_or_denied(library: KbLibrary) -> None:
    job = begun(HUB, e.StopRaised(("wheel-coming-off",)), e.StopCleared())
    ended = replay_on(job, *made("set-the-bearing-play"))
    assert drive(ended, library) is Drive.DO_NOT_MOVE
    asked = e.HazardsAsked(("wheel-coming-off",))
    stands = replay_on(ended, asked, e.HazardStands())
    assert drive(stands, library) is Drive.DO_NOT_MOVE
    passed = replay_on(ended, asked, e.HazardPassed())
    assert drive(passed, library) is Drive.CARE
    again = replay_on(job, asked, e.HazardPassed(), e.StopRaised(("wheel-coming-off",)))
    assert drive(again, library) is Drive.DO_NOT_MOVE
    denied = begun(HUB, e.StopRaised(("wheel-coming-off",)), e.StopDenied())
    assert drive(denied, library) is Drive.CREEP


def test_what_was_found_outlives_a_stop_that_is_denied(library: KbLibrary) -> None:
    stop = (e.StopRaised(("wheel-coming-off",)), e.StopDenied())
    job = begun(HUB, e.Found(LOOK, NUT), *stop)
    assert drive(job, library) is Drive.DO_NOT_MOVE
    looked = replay_on(job, e.Found(LOOK, "No, only warm and dry"))
    assert drive(looked, library) is Drive.CREEP


def test_an_answer_behind_a_stop_rule_closes_nothing_when_the_rule_is_passed(
    library: KbLibrary,
) -> None:
    nuts, check = "wheel-nuts-loose", "go-round-it-before-it-turns"
    wrong = "Nuts of two kinds, or the wrong kind for these holes"
    bad = "Something is still bad, missing or not measured"
    rule = ("wheel-coming-off",)
    job = begun(nuts, e.Found("compare-nuts-with-holes", wrong), e.StopRaised(rule))
    job = replay_on(job, e.StopCleared(), e.Found(check, bad))
    passed = replay_on(job, e.HazardsAsked(rule), e.HazardPassed())
    held = [hazard.says for hazard in look(passed, library).ledger.hazards]
    assert wrong in held
    assert drive(passed, library) is Drive.DO_NOT_MOVE


def test_what_cannot_be_read_holds_the_truck(library: KbLibrary) -> None:
    job = begun(HUB, e.StopRaised(("a-rule-that-is-gone",)), e.StopCleared())
    assert drive(job, library) is Drive.DO_NOT_MOVE
    gone = e.Found("a-check-that-is-gone", "It hung down", drive="do not move")
    assert drive(begun(HUB, gone), library) is Drive.DO_NOT_MOVE
    found = sealed(e.Found(ROCK, ROCKS), begun(HUB), library)
    assert isinstance(found, e.Found)
    assert found.drive == "do not move"


def test_work_on_brakes_wheels_and_air_waits_for_one_who_may_pass_it(
    library: KbLibrary,
) -> None:
    card = "tyre-slow-leak"
    page = library.card(card)
    assert page is not None
    free = next(r.id for r in page.repairs if r.needs.after is Drive.NO_LIMIT)
    job = begun(card, *made(free))
    view = look(job, library)
    assert view.drive is Drive.CARE
    assert view.ledger.hazards == (UNCHECKED,)
    checked = replay_on(job, e.HazardsAsked((UNCHECKED.key,)), e.HazardPassed())
    assert drive(checked, library) is Drive.NO_LIMIT


def test_guarded_systems_are_systems_that_pages_have() -> None:
    assert set(SYSTEMS) >= GUARDED


def test_a_get_home_measure_has_its_own_verdict_and_cures_nothing(
    library: KbLibrary,
) -> None:
    card = library.card("hub-air-seal-leaks")
    assert card is not None
    strict = replace(card, drive=Drive.DO_NOT_MOVE)
    job = begun(card.id, e.RepairProposed("shut-that-wheel-off"))
    taken = advance(job, e.MeasureTaken("shut-that-wheel-off"))
    assert taken.stage is Stage.CHECK
    assert not look(taken, library).is_proved

    def shelf(_: str) -> Card:
        return strict

    held = ledger(taken, strict.drive, shelf, library.rule, proved=False)
    assert held.drive is Drive.CARE


def test_no_trial_is_driven_past_an_open_hazard(library: KbLibrary) -> None:
    """Told a loose nut at the look round; then grease was taken out of the hub."""
    job = begun(HUB, e.Found(LOOK, NUT), *made("put-the-oil-or-grease-right", clean=0))
    view = look(job, library)
    question = ask(view, library)
    acts = [choice.act for choice in question.choices]
    assert not any(isinstance(act, e.CycleClean) for act in acts)
    (first,) = [act for act in acts if isinstance(act, e.ProofPutOff)]
    put_off = advance(job, first)
    assert follow(look(put_off, library), library) == e.CheckProposed(LOOK)


def test_what_is_open_is_told_before_any_page_is_chosen(library: KbLibrary) -> None:
    start = e.Described("it shakes", ((HUB, 0.9),), 0.1)
    stop = (e.StopRaised(("wheel-coming-off",)), e.StopCleared())
    told = may_it_move(look(replay((start, *stop)), library)).text
    assert "do not move" in told
    assert "A wheel is loose or coming off" in told
    assert "saw every stud" in told


SMOKES = "Yes, steam or spray, or the needle was in the red"


def test_an_answer_that_stops_can_be_taken_back_as_a_slip(library: KbLibrary) -> None:
    """By a choice of its own, with its debt; what words raised cannot."""
    before = begun("coolant-loss")
    check = look(before, library).card
    assert check is not None
    found = e.Found(check.checks[0].id, SMOKES)
    stopped = reduce(advance, (found, e.StopRaised((BOILING,))), before)
    view = look(stopped, library)
    assert view.drive is Drive.ENGINE_OFF
    (slip,) = [c for c in ask(view, library).choices if c.act == e.SteppedBack()]
    assert slip.key == "4"
    again = advance(stopped, e.SteppedBack())
    assert look(again, library).ledger == look(before, library).ledger
    assert again.stage is Stage.CHECK
    denied = noted(e.StopDenied(), view, library)
    assert any(SMOKES in said.text for said in denied if isinstance(said, Say))
    for told in (
        advance(before, e.StopRaised((BOILING,))),
        advance(stopped, e.StopRaised(("no-brakes",))),
    ):
        acts = [choice.act for choice in ask(look(told, library), library).choices]
        assert e.SteppedBack() not in acts


BOILING = "coolant-boiling"
HOT = "overheats-on-climb"


def test_what_bids_the_engine_off_holds_back_what_runs_it(library: KbLibrary) -> None:
    """After water boiled out no check with the engine running is proposed; one asked
    for by its number is refused with who decides; passed by their word, it comes.
    """
    boiled = (e.StopRaised((BOILING,)), e.StopCleared())
    job = begun(HOT, *boiled)
    card = look(job, library).card
    assert card is not None
    proposed: list[str] = []
    while isinstance(event := follow(look(job, library), library), e.CheckProposed):
        proposed.append(event.check)
        told = (event, e.StepSkipped(event.check, "not possible here"))
        job = reduce(advance, told, job)
    runs = [c for c in card.checks if Act.ENGINE_RUNNING in c.needs.does]
    assert proposed
    assert runs
    assert not {c.id for c in runs} & set(proposed)
    view = look(job, library)
    number = card.checks.index(runs[0]) + 1
    refused = asked_for_by_name(view, f"check {number}", library)
    assert refused is not None
    assert not refused.events
    assert any("engine off" in said.text for said in says_of(refused))
    passed = reduce(advance, (e.HazardsAsked((BOILING,)), e.HazardPassed()), job)
    assert asked_for_by_name(look(passed, library), f"check {number}", library) == (
        Heard((e.CheckProposed(runs[0].id),))
    )


def says_of(heard: Heard) -> list[Say]:
    return [message for message in heard.says if isinstance(message, Say)]


def test_where_all_that_is_left_must_wait_it_says_who_decides(
    library: KbLibrary,
) -> None:
    boiled = (e.StopRaised((BOILING,)), e.StopCleared())
    view = look(begun(HOT, *boiled, e.HelpProposed()), library)
    question = ask(view, library)
    assert "must wait" in question.text
    assert "Whoever found why it boiled" in question.text
    assert e.HazardsAsked((BOILING,)) in [choice.act for choice in question.choices]


# --- random walks over all pages ------------------------------------------------------

STEPS, WALKS = 20, 2
FREE = (
    e.SteppedBack,
    e.StopDenied,
    e.HazardPassed,
    e.CardChosen,
    e.CardsKept,
    e.CardLeft,
    e.CardTurned,
    e.CardsDeclined,
    e.LeadFollowed,
    e.Described,
    e.MeasureTaken,
    e.NothingFitted,
)
"""What may raise the verdict beside answers and clean trials: another page is on the
table, a slip is taken back, or somebody's word closes it."""


def cards_of(kb: Path) -> list[str]:
    return sorted(path.stem for path in kb.glob("cards/*/*.md"))


@pytest.mark.parametrize("card", cards_of(Path(__file__).parent.parent / "kb"))
def test_verdict_rises_by_named_means_alone(card: str, library: KbLibrary) -> None:
    for nth in range(WALKS):
        walk(card, library, random.Random(f"{card} {nth}"))


def walk(card: str, library: KbLibrary, lots: random.Random) -> None:
    """Answer at random; every now and then a stop rule is raised."""
    job = begun(card)
    before = look(job, library)
    for _ in range(STEPS):
        own = follow(before, library)
        event = own or picked(before, library, lots)
        if event is None:
            return
        after = look(advance(before.job, sealed(event, before.job, library)), library)
        hold(before, event, after)
        if own:
            hold_back(before, own)
        before = after


def picked(view: View, library: KbLibrary, lots: random.Random) -> e.Event | None:
    if view.job.stage in (Stage.CLOSED, Stage.DESCRIBE):
        return None
    if lots.random() < 0.05 and view.job.stage not in (Stage.STOPPED, Stage.PAUSED):
        return e.StopRaised((lots.choice(("wheel-coming-off", BOILING)),))
    question = ask(view, library)
    acts = [c.act for c in (*question.choices, *question.choices, *question.more)]
    events = [act for act in acts if isinstance(act, e.Event)]
    return lots.choice(events) if events else e.ShowedBefore(1, 1)


def hold(before: View, event: e.Event, after: View) -> None:
    rose = ORDER.index(after.drive) > ORDER.index(before.drive)
    closed = {h.key: h for h in before.ledger.hazards}
    for hazard in after.ledger.hazards:
        closed.pop(hazard.key, None)
    if isinstance(event, FREE):
        return
    for hazard in closed.values():
        if isinstance(event, e.Found):
            assert event.check in hazard.checks, (event, hazard)
        elif isinstance(event, e.CycleClean):
            assert after.is_proved
            assert after.job.repair in hazard.repairs, (event, hazard)
        else:
            assert isinstance(event, e.RepairDone | e.StopRaised), (event, hazard)
    if rose:
        assert isinstance(event, e.Found | e.CycleClean), (event, before.ledger)
        assert closed or after.is_proved
    if isinstance(event, e.CycleClean):
        assert forbids_trial(before) is None


def hold_back(before: View, event: e.Event) -> None:
    """Nothing is proposed of its own accord that an open hazard forbids."""
    card = before.card
    if card is None or not isinstance(event, e.CheckProposed | e.RepairProposed):
        return
    id_ = event.check if isinstance(event, e.CheckProposed) else event.repair
    step = card.check(id_) or card.repair(id_)
    held = before.ledger.holding_back(step, card.id) if step else ()
    assert all(hazard.key == before.job.closing for hazard in held)
