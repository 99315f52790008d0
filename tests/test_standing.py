"""How a page stands: only what the rule asks for is vetted."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from hashlib import sha256
from itertools import permutations

import pytest

from bot.club.envelope import Envelope
from bot.club.lines import PaperError
from bot.club.rule import KIND, Rule, begins, follows, read_rule, write_rule
from bot.club.signoff import Bytes, Said, Signed
from bot.club.standing import NOTHING_SEEN, Seen, State, next_revision, standing
from bot.store.keys import checks
from tests.clubs import DAY, LATER, OF, a_key, after, reviewer, rule, signed, word

RULE = rule()
MOSS, WREN, SEDGE = a_key("Moss"), a_key("Wren"), a_key("Sedge")
STRANGER = a_key("a stranger")
OTHER = Bytes(sha256(b"another page").hexdigest(), OF.bytes.wordings)


def state(
    given: list[Signed], of: Rule = RULE, seen: Seen = NOTHING_SEEN, day: date = DAY
) -> State:
    return standing(OF, given, of, seen, day).state


def test_two_reviewers_vet_a_page_and_it_says_who() -> None:
    found = standing(OF, signed(word(RULE), MOSS, WREN), RULE, NOTHING_SEEN, DAY)

    assert str(found) == "vetted (Moss and Wren, revision 1, 2026-12-01)"


def test_past_its_date_a_vetted_page_says_so_and_no_more() -> None:
    given = signed(word(RULE), MOSS, WREN)

    assert state(given, day=LATER) is State.VETTED
    assert state(given, day=LATER + timedelta(1)) is State.OVERDUE


ONE = "1 of 2 signed"
TWO_PENS = replace(
    RULE, reviewers=(*RULE.reviewers, reviewer("Moss the elder")._replace(pen="Moss"))
)
"""A reviewer with two keys: he is one person."""

ELDER = a_key("Moss the elder")
BRAKES_ONLY = replace(
    RULE, reviewers=(reviewer("Moss"), reviewer("Wren", "engine"), reviewer("Sedge"))
)
THREE = replace(RULE, needs={"": 2, "brakes": 3})
WITHOUT_WREN = replace(RULE, reviewers=(reviewer("Moss"), reviewer("Sedge")))
LEFT = Seen(2, OTHER)
TAKEN_BACK = Seen(1, OF.bytes, 1, "wrong torque")

Case = Callable[[], State]


def both(**other: object) -> list[Signed]:
    """Two good reviewers sign a word that differs in one thing."""
    return signed(word(RULE, **other), MOSS, WREN)


CASES: dict[str, Case] = {
    "nobody signed": lambda: state([]),
    "one signed": lambda: state(signed(word(RULE), MOSS)),
    "one signed twice": lambda: state(signed(word(RULE), MOSS, MOSS)),
    "one signed on two days": lambda: state(
        [*signed(word(RULE), MOSS), *signed(word(RULE, day=LATER), MOSS)]
    ),
    "one person's two keys": lambda: state(signed(word(RULE), MOSS, ELDER), TWO_PENS),
    "one and a stranger": lambda: state(signed(word(RULE), MOSS, STRANGER)),
    "two strangers": lambda: state(signed(word(RULE), STRANGER, a_key("another"))),
    "another club's": lambda: state(both(club=sha256(b"other").hexdigest())),
    "another page's": lambda: state(both(page="cards/brakes/brakes-weak.md")),
    "the same id in another folder": lambda: state(
        both(page="cards/engine/brake-drags.md")
    ),
    "another kind's page": lambda: state(both(page="procedures/brake-drags.md")),
    "other bytes of the page": lambda: state(both(bytes=OTHER)),
    "other bytes of the wordings": lambda: state(
        both(bytes=OF.bytes._replace(wordings=OTHER.page))
    ),
    "no wordings then": lambda: state(both(bytes=OF.bytes._replace(wordings="none"))),
    "page and wordings the other way": lambda: state(
        both(bytes=Bytes(OF.bytes.wordings, OF.bytes.page))
    ),
    "two revisions, one each": lambda: state(
        [*signed(word(RULE), MOSS), *signed(word(RULE, revision=2), WREN)]
    ),
    "two texts, one each": lambda: state(
        [*signed(word(RULE), MOSS), *signed(word(RULE, bytes=OTHER), WREN)]
    ),
    "one vets and one withdraws": lambda: state(
        [
            *signed(word(RULE), MOSS),
            *signed(word(RULE, says=Said.WITHDRAWN, remark="no"), WREN),
        ]
    ),
    "two vet and one withdraws": lambda: state(
        [*both(), *signed(word(RULE, says=Said.WITHDRAWN, remark="no"), SEDGE)]
    ),
    "both withdraw": lambda: state(both(says=Said.WITHDRAWN, remark="no")),
    "one's key is revoked": lambda: state(both(), WITHOUT_WREN),
    "one may vet engines alone": lambda: state(both(), BRAKES_ONLY),
    "brakes ask for three": lambda: state(both(), THREE),
    "the rule asks for three of all": lambda: state(
        both(), replace(RULE, needs={"": 3})
    ),
    "withdrawn as was seen, sign-offs gone": lambda: state([], seen=TAKEN_BACK),
    "withdrawn as was seen, and the old ones back": lambda: state(
        both(), seen=TAKEN_BACK
    ),
    "a newer one was seen": lambda: state(both(), seen=LEFT),
    "a newer one is vetted": lambda: state([*both(), *both(bytes=OTHER, revision=2)]),
    "the same revision with other bytes was seen": lambda: state(
        both(), seen=Seen(1, OTHER)
    ),
    "two texts of one revision, both by two": lambda: state(
        [*both(), *signed(word(RULE, bytes=OTHER), MOSS, SEDGE)]
    ),
    "a revision far ahead of all": lambda: state(both(revision=9_000)),
    "a rule without either": lambda: state(
        both(), replace(RULE, reviewers=(reviewer("Sedge"), reviewer("Tern")))
    ),
    "a rule of another club with the same people": lambda: state(
        both(), RULE.of_club(sha256(b"other").hexdigest())
    ),
    "withdrawn twice, signed once again": lambda: state(
        [
            *both(),
            *both(says=Said.WITHDRAWN, remark="no"),
            *signed(word(RULE, revision=2), MOSS),
        ]
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_one_fault_is_enough_for_a_page_not_to_be_vetted(case: str) -> None:
    assert CASES[case]() not in (State.VETTED, State.OVERDUE)


def sure(changed: Rule, *keys: str) -> str:
    """Why a version is not taken over after the first one."""
    text = write_rule(changed)
    signatures = [a_key(pen).sign(KIND, text).signatures[0] for pen in keys]
    return follows(read_rule(text), RULE, Envelope(KIND, text, (*signatures,)), checks)


TERN = reviewer("Tern")
NEXT = after(RULE, replace(RULE, reviewers=(*RULE.reviewers, TERN)))

TAKEN_OVER = {
    "one signature where two are asked for": lambda: sure(NEXT, "Moss"),
    "one signature twice": lambda: sure(NEXT, "Moss", "Moss"),
    "one and who is to be admitted": lambda: sure(NEXT, "Moss", "Tern"),
    "strangers": lambda: sure(NEXT, "Tern", "Rush"),
    "a version left out": lambda: sure(replace(NEXT, version=3), "Moss", "Wren"),
    "the same version again": lambda: sure(replace(NEXT, version=1), "Moss", "Wren"),
    "it follows another": lambda: sure(
        replace(NEXT, follows=sha256(b"x").hexdigest()), "Moss", "Wren"
    ),
    "more are asked for than signed": lambda: sure(
        after(RULE, replace(RULE, needs={"": 3})), "Moss", "Wren"
    ),
    "the new ones did not agree": lambda: sure(
        after(RULE, replace(RULE, reviewers=(reviewer("Rush"), reviewer("Tern")))),
        "Moss",
        "Wren",
    ),
}


@pytest.mark.parametrize("case", TAKEN_OVER)
def test_one_fault_is_enough_for_a_rule_not_to_be_taken_over(case: str) -> None:
    assert TAKEN_OVER[case]()


def test_two_reviewers_admit_a_third_and_he_counts_from_then_on() -> None:
    assert sure(NEXT, "Moss", "Wren") == ""
    assert state(signed(word(RULE), MOSS, a_key("Tern")), NEXT) is State.VETTED


def test_a_revoked_key_stays_revoked_in_every_later_version() -> None:
    key = a_key("Wren").id
    left = (reviewer("Moss"), reviewer("Sedge"))
    why_not = {key: "lost at the ford"}
    gone = after(RULE, replace(RULE, reviewers=left, revoked=why_not))
    back = after(gone, replace(gone, reviewers=RULE.reviewers, revoked={}))
    text = write_rule(back)
    signs = tuple(a_key(p).sign(KIND, text).signatures[0] for p in ("Moss", "Sedge"))
    why = follows(back, gone, Envelope(KIND, text, signs), checks)

    assert "no longer revokes" in why


UNSOUND = {
    "one key under two names": (reviewer("Moss"), reviewer("Moss")._replace(pen="Wr")),
    "two names that look alike": (reviewer("Moss"), reviewer("moss")),
    "fewer people than are asked for": (reviewer("Moss"),),
    "fewer who may vet all": (reviewer("Moss"), reviewer("Wren", "engine")),
    "seventeen reviewers": tuple(reviewer(f"pen {n}") for n in range(17)),
    "nobody": (),
}


@pytest.mark.parametrize("case", UNSOUND)
def test_a_rule_that_cannot_hold_is_refused(case: str) -> None:
    with pytest.raises(PaperError, match="cannot hold"):
        write_rule(replace(RULE, reviewers=UNSOUND[case]))


def test_a_first_version_is_signed_by_as_many_as_it_asks_for() -> None:
    text = write_rule(RULE)
    signs = [a_key(pen).sign(KIND, text).signatures[0] for pen in ("Moss", "Wren")]

    assert begins(RULE, Envelope(KIND, text, (signs[0],)), checks)
    assert begins(RULE, Envelope(KIND, text, tuple(signs)), checks) == ""


def test_sign_offs_in_any_order_come_to_the_same_and_withdrawn_stays() -> None:
    given = [
        *both(),
        *signed(word(RULE, revision=2, bytes=OTHER), MOSS, SEDGE),
        *signed(word(RULE, revision=1, says=Said.WITHDRAWN, remark="no"), SEDGE),
        *signed(word(RULE, revision=2, says=Said.WITHDRAWN, remark="nor"), WREN),
    ]
    found = {standing(OF, o, RULE, NOTHING_SEEN, DAY) for o in permutations(given)}

    assert [str(one) for one in found] == ["withdrawn (nor)"]


def test_what_was_withdrawn_comes_back_by_a_higher_revision_alone() -> None:
    taken_back = signed(word(RULE, says=Said.WITHDRAWN, remark="no"), SEDGE)
    again = next_revision(OF, [*both(), *taken_back], RULE, NOTHING_SEEN)

    assert again == 2
    assert state([*both(), *taken_back, *both(revision=2)]) is State.VETTED


def test_second_reviewer_signs_the_revision_of_the_first() -> None:
    assert next_revision(OF, signed(word(RULE), MOSS), RULE, NOTHING_SEEN) == 1
    changed = OF._replace(bytes=OTHER)
    assert next_revision(changed, both(), RULE, NOTHING_SEEN) == 2


def test_who_withdraws_a_high_revision_holds_a_page_down_while_he_counts() -> None:
    rogue = signed(word(RULE, revision=9_999, says=Said.WITHDRAWN, remark="no"), SEDGE)
    down = standing(OF, [*both(), *rogue], RULE, NOTHING_SEEN, DAY)
    without = replace(RULE, reviewers=(reviewer("Moss"), reviewer("Wren")))
    seen = Seen(1, OF.bytes, down.revision, down.why)
    again = next_revision(OF, both(), without, seen)

    assert down.state is State.WITHDRAWN
    assert state(both(), without, seen) is State.WITHDRAWN
    assert state([*both(), *both(revision=again)], without, seen) is State.VETTED
