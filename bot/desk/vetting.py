"""What a reviewer does: found a club, change its rule, vet a page, withdraw one.

Everything is written as files of the knowledge base that are never changed afterwards,
so that they can be sent by pack or git and merged in any order.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from difflib import get_close_matches
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from bot.club import envelope, lines
from bot.club import rule as rules
from bot.club.names import stem
from bot.club.rule import Reviewer, Rule, write_rule
from bot.club.signoff import KIND, Said, SignOff, Text, write_signoff
from bot.club.standing import Standing, next_revision
from bot.desk.club import Club, ClubError, pages_of
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.place import BotError
from bot.model.rule import StopRule
from bot.store import clubs
from bot.store.changes import change
from bot.store.clock import today
from bot.store.keys import Key, is_weak
from bot.store.pages import page as page_at
from bot.store.pages import text_of

SHORT = 12
"""Hexadecimal digits of digests and keys in the names of files."""

NO_DATE = date.max


def begin(kb: str, home: str, name: str, pen: str, key: Key) -> Club:
    """Found a club: its rule, with one reviewer of whom one is enough.

    Raises:
        BotError: this store is of a club already, or a name is no name.
        OSError: it cannot be written.
    """
    if clubs.memory(home):
        raise ClubError("this store belongs to a club already; see: chock club")
    first = Rule(
        club=lines.one_line(name),
        version=1,
        follows=rules.NONE,
        day=today(),
        reviewers=(Reviewer(lines.one_line(pen), key.public),),
        needs={"": 1},
    )
    text = write_rule(first)
    change(home, kb, f"the club {first.club} founded", _signed_rule(text, key))
    club_id = sha256(text).hexdigest()
    clubs.accept(home, clubs.Memory(club_id, "", first.reviewers[0].pen), text)
    return Club(kb, home)


def admit(club: Club, line: str, systems: tuple[str, ...], key: Key) -> Rule:
    """Propose a reviewer, by the line that `chock club key` gave him.

    Raises:
        BotError: the line is damaged, its key weak, or the rule cannot hold.
    """
    new = rules.reviewer(lines.one_line(line))._replace(systems=systems)
    if is_weak(new.key):
        raise ClubError(
            f"the key of '{new.pen}' is one that anybody can sign for; refuse it"
        )
    _, rule = club.known()
    others = tuple(one for one in rule.reviewers if one.id != new.id)
    return propose(club, replace(rule, reviewers=(*others, new)), key)


def remove(club: Club, pen: str, why: str, key: Key) -> Rule:
    """Propose to count a reviewer's keys no more: lost, stolen, or gone.

    Raises:
        BotError: there is no such reviewer, or the rule cannot hold without him.
    """
    _, rule = club.known()
    gone = [one for one in rule.reviewers if one.pen == pen]
    if not gone:
        pens = ", ".join(sorted({one.pen for one in rule.reviewers}))
        raise ClubError(f"there is no reviewer '{pen}'; there are: {pens}")
    if not why:
        raise ClubError("say why, e.g. --why 'key lost at the ford'")
    revoked = dict(rule.revoked) | {one.id: lines.one_line(why) for one in gone}
    kept = tuple(one for one in rule.reviewers if one.pen != pen)
    left = {one.pen for one in kept if not one.systems}
    if len(left) < rule.needed():
        raise ClubError(
            f"{rule.needed()} must agree, and without {pen} only {len(left)} would be "
            "left: admit another first. If the key is gone for good, nobody can change "
            "the rule any more: found the club anew, in another store"
        )
    return propose(club, replace(rule, reviewers=kept, revoked=revoked), key)


def need(club: Club, many: int, systems: tuple[str, ...], key: Key) -> Rule:
    """Propose how many must agree on a page, of some systems or of all others.

    Raises:
        BotError: so many cannot be asked for.
    """
    _, rule = club.known()
    wanted = dict.fromkeys(systems or ("",), many)
    return propose(club, replace(rule, needs={**rule.needs, **wanted}), key)


def propose(club: Club, wanted: Rule, key: Key) -> Rule:
    """Write the next version of the rule, signed by whoever proposes it.

    Raises:
        BotError: it cannot hold, or cannot be written.
    """
    _, rule = club.known()
    new = replace(
        wanted, version=rule.version + 1, follows=rule.digest, day=today(), remark=""
    )
    text = write_rule(new)
    what = f"version {new.version} of the rule"
    change(club.home, club.kb, what, _signed_rule(text, key))
    return rules.read_rule(text)


def agree(club: Club, digest: str, key: Key) -> Rule:
    """Sign a version of the rule that waits.

    Raises:
        ClubError: there is none that begins so.
    """
    found = [one for one in club.waiting() if one.rule.digest.startswith(digest)]
    if len(found) != 1:
        which = ", ".join(one.rule.digest[:SHORT] for one in found) or "none"
        raise ClubError(f"say which version of the rule; there waits: {which}")
    text = found[0].text
    change(club.home, club.kb, "a signature under the rule", _signed_rule(text, key))
    return found[0].rule


def sign(club: Club, page: str, key: Key, remark: str = "") -> Standing:
    """Vet a page as it is here, with the wordings beside it.

    Raises:
        BotError: it cannot be read without a fault, the key is none of the club's, or
            it cannot be written.
    """
    held = _readable(club, page)
    check_by = NO_DATE if isinstance(held, Note) else held.check_by
    return _say(club, page, key, _Word(Said.VETTED, check_by, remark))


def withdraw(club: Club, page: str, key: Key, why: str) -> Standing:
    """Take a page back: one reviewer is enough, for it is the safe side.

    Raises:
        BotError: there is no reason given, or as for `sign`.
    """
    if not why:
        raise ClubError("say why, e.g. --why 'the torque in check 3 is wrong'")
    return _say(club, page, key, _Word(Said.WITHDRAWN, NO_DATE, why))


class _Word(NamedTuple):
    """What is said of a page, until when, and why."""

    says: Said
    check_by: date
    remark: str


def _say(club: Club, page: str, key: Key, word: _Word) -> Standing:
    memory, rule = club.known()
    if not rule.pen(key.id):
        raise ClubError(
            "your key is not in the club's rule; send your line to a reviewer: "
            "chock club key"
        )
    text = club.standings.text(page)
    if text is None:
        raise ClubError(f"{page} cannot be read; check the file")
    said = SignOff(
        memory.club,
        page,
        _revision(club, text, rule, word.says),
        text.bytes,
        word.says,
        today(),
        word.check_by,
        lines.one_line(word.remark),
    )
    signed = envelope.write(key.sign(KIND, write_signoff(said)))
    name = f"{sha256(signed).hexdigest()[:SHORT]}.{key.id[:SHORT]}.json"
    path = f"club/sign-offs/{stem(page)}/{name}"
    change(club.home, club.kb, f"{page} {word.says.value}", {path: signed})
    club.catch_up()
    return club.standings.of(page)


def _revision(club: Club, text: Text, rule: Rule, says: Said) -> int:
    signed, seen = club.standings.signed(text.page), clubs.seen(club.home, text.page)
    if says is Said.VETTED:
        return next_revision(text, signed, rule, seen)
    known = [one.signoff.revision for one in signed if rule.pen(one.key)]
    return max([*known, seen.revision, 1])


Held = Card | Procedure | Note | StopRule


def _readable(club: Club, page: str) -> Held:
    """A page that reads without a fault."""
    from bot.desk.upkeep import read  # the reader of cards is slow to load

    found = page_at(Path(club.kb, page))
    text = text_of(found)
    held = read(text, found) if isinstance(text, str) else (text,)
    if isinstance(held, Held):
        return held
    faults = held if isinstance(held, tuple) else ()
    why = str(faults[0]) if faults else f"{page} is no page that can be vetted"
    raise ClubError(f"not signed: {why}")


def _signed_rule(text: bytes, key: Key) -> Mapping[str, bytes]:
    """The files of a version of the rule and of a signature under it."""
    version = rules.read_rule(text).version
    begin = f"club/rules/{version:04}.{sha256(text).hexdigest()[:SHORT]}"
    signed = envelope.write(key.sign(rules.KIND, text))
    return {f"{begin}.txt": text, f"{begin}.{key.id[:SHORT]}.json": signed}


def page_of(kb: str, name: str) -> str:
    """The path of the page that is meant by an id or a path.

    Raises:
        BotError: there is none.
    """
    by_id = {Path(path).stem: path for path in pages_of(kb)}
    found = by_id.get(name) or (name if name in by_id.values() else "")
    if not found:
        near = get_close_matches(name, by_id, 1)
        meant = f"did you mean '{near[0]}'? " if near else ""
        raise BotError(f"there is no page '{name}'; {meant}'chock cards' lists them")
    return found
