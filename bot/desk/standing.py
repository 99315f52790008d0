"""How pages stand with the club, reckoned from the very bytes that are read.

On the road of every window, and light: without a club nothing is loaded for it.
"""

from __future__ import annotations

import os
from hashlib import sha256
from typing import TYPE_CHECKING

from bot.club import envelope, lines
from bot.club.names import stem, wordings_of
from bot.club.signoff import KIND, Bytes, Signed, Text, read_signoff
from bot.club.standing import Seen, Standing, State, standing
from bot.store import clubs
from bot.store.clock import today
from bot.store.files import read_whole
from bot.store.keys import NOT_INSTALLED, checks, installed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import date

    from bot.club.rule import Rule

NO_CLUB = Standing(State.NOT_VETTED, "no club has looked at it")
NO_RULE = Standing(State.NOT_VETTED, "the club's rule is damaged here")
NO_CHECK = Standing(State.NOT_VETTED, NOT_INSTALLED)
UNREADABLE = Standing(State.NOT_VETTED, "it cannot be read")

MOST_SIGN_OFFS = 5_000
"""Files looked at for one page that are named for a key of the rule."""

MOST_BYTES = 16_384


class Standings:
    """The standings of a knowledge base's pages, for one member."""

    def __init__(self, kb: str, home: str) -> None:
        """Look at what the member keeps; nothing of the knowledge base is read."""
        self._kb = kb
        self._home = home
        self._why = NO_CLUB
        self.rule: Rule | None = None
        try:
            kept = clubs.memory(home)
        except (OSError, lines.PaperError):
            self._why = NO_RULE
            return
        if kept:
            self.rule = clubs.rule(home, kept)
            self._why = NO_RULE
        if self.rule and not installed():
            self.rule, self._why = None, NO_CHECK

    def of(self, page: str) -> Standing:
        """How the page at that path in the knowledge base stands now."""
        if self.rule is None:
            return self._why
        text = self.text(page)
        return UNREADABLE if text is None else self.beside(text, ())

    def text(self, page: str) -> Text | None:
        """What a page is, by digests of its bytes and of the wordings beside it."""
        try:
            own = read_whole(os.path.join(self._kb, page))
        except OSError:
            return None
        told = wordings_of(page)
        if not told:
            return Text(page, Bytes(_digest(own)))
        try:
            beside = read_whole(os.path.join(self._kb, told))
        except FileNotFoundError:
            return Text(page, Bytes(_digest(own)))
        except OSError:
            return None
        return Text(page, Bytes(_digest(own), _digest(beside)))

    def signed(self, page: str) -> tuple[Signed, ...]:
        """The sign-offs of a page that are proved to be signed by the rule's keys."""
        return tuple(self._signed(page)) if self.rule else ()

    def _signed(self, page: str) -> Iterator[Signed]:
        folder = os.path.join(self._kb, "club", "sign-offs", stem(page))
        keys = self.rule.keys if self.rule else {}
        for name in _names(folder, keys):
            try:
                data = read_whole(os.path.join(folder, name), MOST_BYTES)
            except OSError:
                continue
            yield from proved(data, keys)

    def beside(self, text: Text, more: Iterable[Signed]) -> Standing:
        """How a text would stand here, with some more sign-offs than there are."""
        if self.rule is None:
            return self._why
        signed = (*self.signed(text.page), *more)
        seen = clubs.seen(self._home, text.page)
        return standing(text, signed, self.rule, seen, self._day(signed))

    def seen(self, page: str) -> Seen:
        """What was seen of a page before, and what is seen of it now."""
        before = clubs.seen(self._home, page)
        now = self.of(page)
        if now.state is State.WITHDRAWN:
            return before._replace(withdrawn=now.revision, why=now.why)
        text = self.text(page)
        if text and now.state in (State.VETTED, State.OVERDUE):
            return before._replace(revision=now.revision, bytes=text.bytes)
        return before

    def _day(self, signed: Iterable[Signed]) -> date:
        """Today, or the newest day that was signed: a clock may be behind."""
        days = [one.signoff.day for one in signed]
        return max([today(), *days, *([self.rule.day] if self.rule else [])])


def proved(data: bytes, keys: Mapping[str, bytes]) -> Iterator[Signed]:
    """What a file of a sign-off says, once for each of the keys that did sign it."""
    try:
        found = envelope.read(data, KIND)
        said = read_signoff(found.payload)
    except (envelope.EnvelopeError, lines.PaperError):
        return
    for key in sorted(found.signers(keys, checks)):
        yield Signed(said, key)


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def _names(folder: str, keys: Iterable[str]) -> list[str]:
    """The files that are named for one of the keys; what others sign is not read."""
    named = tuple(f".{key[:12]}.json" for key in keys)
    try:
        found = sorted(n for n in os.listdir(folder) if n.endswith(named))
    except OSError:
        return []
    return found[:MOST_SIGN_OFFS] if named else []
