"""`chock club`: vet, sign, share and merge, a few plain acts.

Every act says what it did, and what to do next.
"""

import getpass
import json
import sys
from argparse import Namespace
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from bot.cli.lines import WIDTH, columns, wrapped
from bot.club.rule import Reviewer, Rule, fingerprint, reviewer, reviewer_said
from bot.club.standing import State
from bot.desk import vetting
from bot.desk.club import NO_CLUB, Club, ClubError, Row
from bot.store import clubs
from bot.store.folders import home_folder, kb_folder, own_kb
from bot.store.keys import SHORTEST, Key, has_key, make_key, open_key

MOST_ROWS = 12


class Done(NamedTuple):
    """What an act did, what to do next, and the same for a program."""

    did: tuple[str, ...]
    then: str = ""
    data: Mapping[str, object] = MappingProxyType({})


Act = Callable[[Namespace], Done]


def club(asked: Namespace) -> int:
    """Do one act; without one tell how things stand."""
    name = asked.act or ""
    act = _acts().get(name)
    if act is None:
        known = ", ".join(filter(None, _acts()))
        raise ClubError(f"'{name}' is no act of the club; there are: {known}")
    done = act(asked)
    if asked.json:
        said = {"did": list(done.did), "next": done.then, **done.data}
        print(json.dumps(said, ensure_ascii=True))
        return 0
    width = columns(WIDTH)
    for text in done.did:
        for line in wrapped(text, width) if text else ("",):
            print(line)
    if done.then:
        print()
        for line in wrapped(f"Next: {done.then}", width):
            print(line)
    return 0


def _acts() -> Mapping[str, Act]:
    from bot.cli.packs import ACTS as OF_PACKS
    from bot.cli.sharing import ACTS as OF_SHARING
    from bot.cli.sync import ACTS as OF_SYNC

    return {**ACTS, **OF_PACKS, **OF_SHARING, **OF_SYNC}


def opened(asked: Namespace) -> Club:
    """The club to read of."""
    home = home_folder(asked.home)
    return Club(kb_folder(asked.kb, asked.home), home)


def own(asked: Namespace) -> Club:
    """The club with a knowledge base that may be changed, caught up."""
    home = home_folder(asked.home)
    found = Club(own_kb(asked.kb, home), home)
    found.catch_up()
    return found


def words(asked: Namespace, usage: str) -> str:
    """What stands behind an act.

    Raises:
        ClubError: nothing does.
    """
    said = " ".join(asked.words).strip()
    if not said:
        raise ClubError(f"say which: chock club {usage}")
    return said


def phrase(asks: str) -> str:
    """A pass-phrase: typed unseen, or the first line of what is piped in."""
    if sys.stdin.isatty():
        return getpass.getpass(f"{asks}: ")
    return sys.stdin.readline().rstrip("\n")


def unlocked(found: Club) -> Key:
    """One's own key, by its pass-phrase."""
    asks = has_key(found.home)
    return open_key(found.home, phrase("Pass-phrase of your key") if asks else "")


def systems(asked: Namespace) -> tuple[str, ...]:
    """The systems of `--for`, parted by commas."""
    parts = (asked.systems or "").split(",")
    return tuple(part.strip() for part in parts if part.strip())


# --- how things stand


def _status(asked: Namespace) -> Done:
    found = opened(asked)
    if found.memory is None:
        then = NO_CLUB.partition("; ")[2]
        return Done(("No club here: no page is vetted.",), then)
    memory, rule = found.known()
    rows = list(found.pages())
    many = Counter(row.standing.state for row in rows)
    did = [
        f"{rule.club}, rule version {rule.version} of {rule.day.isoformat()}.",
        f"Fingerprint: {fingerprint(memory.club)}",
        f"Reviewers: {', '.join(sorted({r.pen for r in rule.reviewers}))}.",
        *(f"{_needs(system, n)}." for system, n in rule.needs.items()),
        "Pages: " + ", ".join(f"{many[s]} {s.value}" for s in State if many[s]) + ".",
    ]
    did += _to_look_at(found, rows)
    data = {
        "club": memory.club,
        "name": rule.club,
        "version": rule.version,
        "pages": {row.page: row.standing.state.value for row in rows},
    }
    return Done(tuple(did), _what_next(found), data)


def _needs(system: str, many: int) -> str:
    of = f" of {system}" if system else ""
    who = "1 reviewer" if many == 1 else f"{many} reviewers"
    return f"A page{of} is vetted by {who}"


def _to_look_at(found: Club, rows: Sequence[Row]) -> Iterator[str]:
    for one in found.waiting():
        pens = " and ".join(one.pens) or "nobody"
        yield (
            f"Version {one.rule.version} of the rule waits "
            f"({one.rule.digest[:12]}), signed by {pens}."
        )
    due = [row for row in rows if row.standing.state not in _QUIET or _is_begun(row)]
    for row in due[:MOST_ROWS]:
        yield f"{row.page}: {row.standing}"
    if len(due) > MOST_ROWS:
        yield f"and {len(due) - MOST_ROWS} more; --json lists all."


_QUIET = (State.VETTED, State.NOT_VETTED)


def _is_begun(row: Row) -> bool:
    """Whether some have signed it, and not enough."""
    why = row.standing.why
    return why.endswith("signed") and not why.startswith("0 ")


def _what_next(found: Club) -> str:
    memory, rule = found.known()
    waits = found.waiting()
    if any(memory.pen not in one.pens for one in waits) and has_key(found.home):
        return "read what changes with 'chock club rule', then: chock club agree"
    if waits:
        return "the others must agree: pass it on (chock club pack FILE all, or sync)"
    if down := [row.page for row in found.pages() if not row.standing.may_lead]:
        return f"mend {down[0]}, and have it signed anew"
    if not has_key(found.home):
        return (
            "you can read everything; what is new comes with 'chock club take FILE' or "
            "'chock club sync'. To become a reviewer: chock club key YOUR-PEN-NAME"
        )
    if len({one.pen for one in rule.reviewers}) < 2:
        return "admit a second reviewer: chock club admit THEIR-LINE"
    return "read a page through and vet it: chock club sign PAGE"


# --- keys and the rule


def _begin(asked: Namespace) -> Done:
    name = words(asked, "begin NAME --as YOUR-PEN-NAME")
    if not asked.pen:
        raise ClubError("say what you are called in it: --as YOUR-PEN-NAME")
    home = home_folder(asked.home)
    if clubs.memory(home):
        raise ClubError("this store belongs to a club already; see: chock club")
    key = _own_key(home)
    kb = own_kb(asked.kb, home)
    found = vetting.begin(kb, home, name, asked.pen, key)
    memory, rule = found.known()
    return Done(
        (
            f"Founded: {rule.club}. You are its first reviewer, {memory.pen}.",
            f"Its pages are in {kb}.",
            f"Its fingerprint, to be read to whoever joins: {fingerprint(memory.club)}",
            f"Your key is in {clubs.folder(home)}: keep a copy of that folder, and "
            "never pass it on.",
        ),
        "vet a page you have read through: chock club sign PAGE; or admit a second "
        "reviewer: chock club admit THEIR-LINE",
        {"club": memory.club, "kb": kb},
    )


def _own_key(home: str) -> Key:
    if has_key(home):
        return open_key(home, phrase("Pass-phrase of your key"))
    said = phrase(NEW_PHRASE)
    while sys.stdin.isatty() and (
        len(said) < SHORTEST or said != phrase("The same once more")
    ):
        print("Too short, or not the same twice. It cannot be got back: once again.")
        said = phrase(NEW_PHRASE)
    return make_key(home, said)


NEW_PHRASE = f"A pass-phrase for your new key, {SHORTEST} letters or more"


def _key(asked: Namespace) -> Done:
    home = home_folder(asked.home)
    pen = " ".join(asked.words) or getattr(clubs.memory(home), "pen", "")
    if not pen:
        raise ClubError("say what you are called: chock club key YOUR-PEN-NAME")
    key = _own_key(home)
    line = reviewer_said(Reviewer(pen, key.public))
    return Done(
        (line,),
        "send this line to a reviewer of your club, and read out its last eight "
        f"letters by voice: {line[-9:-1]}. They say: chock club admit 'THE LINE'. Your "
        f"key is in {clubs.folder(home)}: keep a copy, and never pass it on",
        {"line": line, "key": key.id},
    )


def _rule(asked: Namespace) -> Done:
    found = own(asked)
    _, rule = found.known()
    did = [*_told(rule)]
    for one in found.waiting():
        did += ["", f"Waiting: version {one.rule.version} ({one.rule.digest[:12]}):"]
        did += [line for line in _told(one.rule) if line not in did]
        did.append(f"signed by {' and '.join(one.pens) or 'nobody'}")
    return Done(tuple(did), _what_next(found), {"version": rule.version})


def _told(rule: Rule) -> Iterator[str]:
    for one in rule.reviewers:
        yield f"Reviewer: {reviewer_said(one)}"
    for system, many in rule.needs.items():
        yield f"{_needs(system, many)}."
    for key, why in rule.revoked.items():
        yield f"Revoked: {key[:12]}, {why}"


def _admit(asked: Namespace) -> Done:
    line = words(asked, "admit 'PEN, ed25519 KEY' [--for brakes,engine]")
    reviewer(line)  # before a pass-phrase is asked for
    found = own(asked)
    return _proposed(found, vetting.admit(found, line, systems(asked), unlocked(found)))


def _remove(asked: Namespace) -> Done:
    pen = words(asked, "remove PEN --why REASON")
    found = own(asked)
    return _proposed(found, vetting.remove(found, pen, asked.why, unlocked(found)))


def _need(asked: Namespace) -> Done:
    said = words(asked, "needs 2 [--for brakes]")
    if said not in ("1", "2", "3"):
        raise ClubError("one, two or three reviewers: chock club needs 2")
    found = own(asked)
    changed = vetting.need(found, int(said), systems(asked), unlocked(found))
    done = _proposed(found, changed)
    if len({one.pen for one in changed.reviewers}) > int(said):
        return done
    return done._replace(did=(*done.did, ALL_ARE_NEEDED))


ALL_ARE_NEEDED = (
    "Mind: every reviewer is needed then. One lost key, and the rule can never be "
    "changed again: admit one more soon."
)


def _agree(asked: Namespace) -> Done:
    found = own(asked)
    return _proposed(found, vetting.agree(found, "".join(asked.words), unlocked(found)))


def _proposed(found: Club, rule: Rule) -> Done:
    told = found.catch_up()
    if told:
        then = "pass it on: chock club pack FILE all, or chock club sync"
        return Done(told, then, {"version": rule.version, "in force": True})
    return Done(
        (
            f"Version {rule.version} of the rule is signed by you "
            f"({rule.digest[:12]}); it waits for the others.",
        ),
        "pass it on (chock club pack FILE all, or chock club sync); each of the others "
        "says: chock club agree",
        {"version": rule.version, "in force": False},
    )


# --- pages


def _sign(asked: Namespace) -> Done:
    name = words(asked, "sign PAGE [--why REMARK]")
    found = own(asked)
    found.known()
    page = vetting.page_of(found.kb, name)
    standing = vetting.sign(found, page, unlocked(found), asked.why or "")
    then = "pass it on: chock club pack FILE all, or chock club sync"
    if standing.state is State.NOT_VETTED:
        then = f"pass it on, so that another reviewer can sign it too: {then[12:]}"
    return Done((f"Signed. {page}: {standing}.",), then, _of(page, standing.state))


def _withdraw(asked: Namespace) -> Done:
    name = words(asked, "withdraw PAGE --why REASON")
    found = own(asked)
    found.known()
    page = vetting.page_of(found.kb, name)
    standing = vetting.withdraw(found, page, unlocked(found), asked.why or "")
    return Done(
        (f"{page}: {standing}.",),
        "pass it on soon (chock club pack FILE all, or chock club sync); mend the page "
        "and have it signed anew",
        _of(page, standing.state),
    )


def _of(page: str, state: State) -> dict[str, object]:
    return {"page": page, "state": state.value}


ACTS: Mapping[str, Act] = MappingProxyType(
    {
        "": _status,
        "begin": _begin,
        "key": _key,
        "rule": _rule,
        "admit": _admit,
        "remove": _remove,
        "needs": _need,
        "agree": _agree,
        "sign": _sign,
        "withdraw": _withdraw,
    }
)
