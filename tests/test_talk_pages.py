"""Stubs, procedures, field notes, steps by name, and what is for other trucks."""

from dataclasses import replace

from bot.cards.lesser import read_note, read_procedure
from bot.cards.read import read_card
from bot.cards.template import fresh_note, fresh_procedure, fresh_stub
from bot.job import events as e
from bot.job.job import Job, Stage
from bot.job.moves import advance
from bot.model.card import Act, Card, Cause, Caution, Check, Drive, Needs, Prose, Signal
from bot.model.pages import Note, Procedure
from bot.model.truck import Truck
from bot.talk.ask import ask
from bot.talk.follow import still_open
from bot.talk.hear import hear
from bot.talk.library import for_truck, look
from bot.talk.messages import Ask, PageAsked, Say, ShowStep, Tell
from bot.talk.show import show
from tests.fakes import FakeLibrary
from tests.test_talk import checking, drain, library, says, settle, walk


def stub() -> Card:
    found = read_card(fresh_stub(), "kb/cards/brakes/brake-drags.md")
    assert isinstance(found, Card)
    return found


def procedure() -> Procedure:
    found = read_procedure(fresh_procedure(), "kb/procedures/close-it.md")
    assert isinstance(found, Procedure)
    return found


def note() -> Note:
    found = read_note(fresh_note(about="drain-left-open"), "kb/notes/a.md")
    assert isinstance(found, Note)
    return found


def told(held: FakeLibrary, job: Job) -> str:
    shown = show(look(job, held), held)
    texts = [m.text for m in shown if isinstance(m, Say | Ask)]
    texts += [m.prose.text for m in shown if isinstance(m, Tell)]
    return " ".join(texts)


# Stubs


def on_a_stub() -> tuple[FakeLibrary, Job]:
    held = FakeLibrary({"brake-drags": stub()})
    job = walk(held, "it hisses")
    question = ask(look(job, held), held)
    assert "known, no page yet" in question.choices[0].label
    return held, walk(held, "1", job=job)


def test_a_fault_without_a_page_is_named_with_what_to_do_meanwhile() -> None:
    held, job = on_a_stub()
    text = told(held, job)
    assert "there is no page for it yet" in text
    assert "What to do until there is a page." in text


def test_the_verdict_of_a_stub_holds() -> None:
    held, job = on_a_stub()
    assert look(job, held).drive is Drive.DO_NOT_MOVE
    assert "do not move" in says(held, job, "may I drive?")


def test_what_is_told_on_a_stub_is_kept_as_it_promises() -> None:
    held, job = on_a_stub()
    words = "the left rear drum is hot to the touch and smells"
    assert "Noted, for the club" in says(held, job, words)
    assert walk(held, words, job=job).told == (words,)
    assert walk(held, "no idea", job=job).told == ()
    assert walk(held, "call for help", job=job).stage is not job.stage


def test_a_job_on_a_stub_ends_with_what_was_said_kept() -> None:
    held, job = on_a_stub()
    job = walk(held, "1", "1", job=job)
    assert job.stage is Stage.CLOSED
    assert job.outcome is not None
    assert job.outcome.cause == ""


# Procedures


def with_link(text: str = "[it](../../procedures/close-it.md)") -> FakeLibrary:
    card = drain()
    checks = tuple(replace(c, body=(Prose(f"See {text}."),)) for c in card.checks)
    held = library()
    held.cards["drain-left-open"] = replace(card, checks=checks)
    held.procedures = {"close-it": procedure()}
    return held


def test_a_procedure_that_a_step_names_is_shown_and_the_step_stays() -> None:
    held = with_link()
    job = checking(held)
    question = ask(look(job, held), held)
    (lead,) = [c for c in question.more if isinstance(c.act, PageAsked)]
    assert lead.key == "+"
    heard = hear(look(job, held), "+", held)
    assert not heard.events
    steps = [m for m in heard.says if isinstance(m, ShowStep)]
    assert [s.title for s in steps] == [s.title for s in procedure().steps]
    assert ask(look(job, held), held) == question


def test_a_step_that_leads_to_no_procedure_offers_none() -> None:
    held = with_link("[it](../../procedures/other.md)")
    question = ask(look(checking(held), held), held)
    assert not [c for c in question.more if isinstance(c.act, PageAsked)]


def test_asking_how_it_is_done_shows_it_and_stays_at_the_question() -> None:
    held = FakeLibrary({}, procedures={"close-it": procedure()})
    job = walk(held, "it hisses")
    job = replace(job, candidates=(("close-it", 0.9),), none=0.1)
    question = ask(look(job, held), held)
    assert question.choices[0].label.startswith("How it is done: ")
    heard = hear(look(job, held), "1", held)
    assert not heard.events
    assert any(isinstance(m, ShowStep) for m in heard.says)


# Field notes


def test_notes_are_shown_as_hearsay_with_their_authors() -> None:
    held = library(told=(note(),))
    text = says(held, checking(held), "field notes")
    assert "hearsay" in text
    assert "pen name" in text
    assert "No member" in says(library(), checking(library()), "field notes")


def test_notes_weigh_nothing() -> None:
    with_notes, without = library(told=(note(),) * 3), library()
    one, other = (look(checking(held), held) for held in (with_notes, without))
    assert one.belief == other.belief


# Steps by name


def test_a_step_is_had_by_its_number_or_its_title_at_a_check_and_at_a_repair() -> None:
    held = library()
    job = checking(held)
    for typed, step in (
        ("check 1", "feel-under-the-drain"),
        ("repair 2", "re-ring-the-pump"),
        ("go to check 2", "time-the-fall"),
        ("Fit another pump", "fit-another-pump"),
        ("feel under the drain", "feel-under-the-drain"),
    ):
        job = walk(held, typed, job=job)
        assert job.step is not None
        assert job.step.id == step


def test_a_number_that_the_page_has_not_got_changes_nothing() -> None:
    held = library()
    job = checking(held)
    assert not hear(look(job, held), "check 9", held).events


def test_a_trial_drive_asked_for_by_name_is_refused_while_a_hazard_forbids_it() -> None:
    held = library()
    card = drain()
    first, *rest = card.checks
    drives = replace(first, needs=replace(first.needs, does=(Act.TRIAL_DRIVE,)))
    held.cards["drain-left-open"] = replace(card, checks=(drives, *rest))
    job = walk(held, "it hisses", "1")
    stopped = replace(job, stops=("hot-pump",))
    heard = hear(look(stopped, held), "check 1", held)
    assert not heard.events
    assert any("Not yet" in m.text for m in heard.says if isinstance(m, Say))


# Cautions of the opening


def test_a_caution_of_the_opening_stands_at_each_step_that_does_it() -> None:
    held = library()
    card = drain()
    guard = Caution(Signal.DANGER, "It falls. It kills. Use stands.", Act.LIFTING)
    lifts = tuple(
        replace(c, needs=replace(c.needs, does=(Act.LIFTING,))) for c in card.checks
    )
    held.cards["drain-left-open"] = replace(
        card, opening=(*card.opening, guard), checks=lifts
    )
    job = checking(held)
    for typed in ("", "check 1", "check 2"):
        job = walk(held, typed, job=job) if typed else job
        shown = show(look(job, held), held)
        (step,) = [m for m in shown if isinstance(m, ShowStep)]
        assert step.body[0] == guard
        assert guard not in [getattr(m, "caution", None) for m in shown]


# What is for other trucks


def only(step: Check, *features: str) -> Check:
    return replace(step, needs=replace(step.needs, only=(features,)))


def open_checks(held: FakeLibrary) -> set[str]:
    view = look(checking(held), held)
    return {check.id for _, check in still_open(view).checks}


def test_steps_for_other_trucks_are_left_out_and_had_by_name() -> None:
    held = library()
    card = drain()
    first, *rest = card.checks
    held.cards["drain-left-open"] = replace(
        card, checks=(only(first, "hand lever"), *rest)
    )
    assert first.id in open_checks(held)
    held.lorry = Truck("Heron", fitted=("wheel valves",))
    assert first.id not in open_checks(held)
    job = walk(held, "check 1", job=checking(held))
    assert job.step is not None
    assert job.step.id == first.id


def test_causes_that_this_truck_cannot_have_are_not_suspected() -> None:
    held = library()
    card = drain()
    one, two = card.causes
    belt: Cause = replace(two, only=(("hand lever",),))
    held.cards["drain-left-open"] = replace(card, causes=(one, belt))
    held.lorry = Truck("Heron", fitted=("wheel valves",))
    belief = look(checking(held), held).belief
    assert belief is not None
    assert belief.causes == (one.id,)
    whole = replace(card, causes=(belt,))
    assert for_truck(whole, held.lorry) == whole


def test_what_comes_only_after_a_check_waits_for_its_answer() -> None:
    held = library()
    card = drain()
    feel, fall, listen = card.checks
    free = replace(fall.needs, fact="")
    waits: Needs = replace(free, not_before=(1,))
    held.cards["drain-left-open"] = replace(
        card, checks=(feel, replace(fall, needs=waits), replace(listen, needs=free))
    )
    assert fall.id not in open_checks(held)
    job = walk(held, "check 1", job=checking(held))
    answered = advance(job, e.Found(feel.id, feel.findings[1].answer))
    job = settle(answered, held)
    left = {check.id for _, check in still_open(look(job, held)).checks}
    assert fall.id in left | {job.step.id if job.step else ""}


# A page that is gone


def test_a_job_whose_page_is_gone_holds_the_truck_and_finds_another() -> None:
    held = library()
    described = e.Described("it hisses", (("an-old-page", 0.8),), 0.2)
    job = advance(advance(Job(), described), e.CardChosen("an-old-page"))
    assert look(job, held).drive is Drive.DO_NOT_MOVE
    job = advance(job, e.HelpProposed())
    assert "no longer here" in told(held, job)
    job = walk(held, "1", job=job)
    question = ask(look(job, held), held)
    assert isinstance(question.choices[0].act, e.CardChosen)
    assert question.choices[0].act.card == "drain-left-open"
