"""`chock club`: outcomes shared or not, remarks on pages, texts that were set aside."""

import sys
from argparse import Namespace
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from bot.cli.club import Act, Done, opened, own, words
from bot.cli.progress import reading
from bot.desk import asides, sharing
from bot.desk.club import Club, ClubError
from bot.desk.library import KbLibrary
from bot.desk.remarks import remark, remarks
from bot.desk.sharing import Consent
from bot.desk.vetting import page_of
from bot.store import device
from bot.store.clock import today
from bot.store.journal import Journal

HOW_SHARED = MappingProxyType(
    {
        Consent(): "Nothing of your jobs is shared.",
        Consent(outcomes=True): "Outcomes may be shared, each shown before.",
        Consent(outcomes=True, words=True): (
            "Outcomes may be shared, and the words by which a page was found, each "
            "shown before."
        ),
    }
)


def _outcomes(asked: Namespace) -> Done:
    """Consent, and what would leave."""
    said = " ".join(asked.words)
    act = _OF_OUTCOMES.get(said)
    if act is None:
        known = ", ".join(f"outcomes {name}".strip() for name in _OF_OUTCOMES)
        raise ClubError(f"'{said}' is not understood; write one of: {known}")
    return act(own(asked), asked)


def _where(found: Club) -> sharing.Club:
    memory, _ = found.known()
    return sharing.Club(Path(found.kb), Path(found.home), memory.club)


def _offers(found: Club) -> tuple[sharing.Offer, ...]:
    journal = Journal(Path(found.home))
    library = KbLibrary(found.kb, found.home, journal, told=reading)
    try:
        return sharing.to_share(_where(found), journal, library)
    finally:
        library.close()


def _told(found: Club, asked: Namespace) -> Done:
    given = sharing.consent(Path(found.home))
    offers = _offers(found)
    did = [HOW_SHARED[given]]
    if offers:
        did += ["These lines could be shared, and nothing else:", ""]
        did += [offer.line for offer in offers]
    then = "chock club outcomes share" if given.outcomes else "chock club outcomes yes"
    data = {"consent": given._asdict(), "lines": [offer.line for offer in offers]}
    return Done(tuple(did), f"if you like: {then}" if offers else "", data)


def _yes(found: Club, asked: Namespace) -> Done:
    given = sharing.give_consent(Path(found.home))
    return Done((HOW_SHARED[given],), "see what would leave: chock club outcomes")


def _yes_words(found: Club, asked: Namespace) -> Done:
    given = sharing.give_consent(Path(found.home), words=True)
    return Done((HOW_SHARED[given],), "see what would leave: chock club outcomes")


def _no(found: Club, asked: Namespace) -> Done:
    given = sharing.take_back(Path(found.home))
    return Done(
        (HOW_SHARED[given], "What left already stays with the others."),
        "to have it dropped everywhere: chock club outcomes forget",
    )


def _share(found: Club, asked: Namespace) -> Done:
    offers = _offers(found)
    if not offers:
        return Done(("There is nothing new to share.",))
    if not (asked.yes or _is_wanted(sharing.shown(offers))):
        return Done(("Nothing was shared.",))
    many = sharing.share(_where(found), offers)
    return Done(
        (f"{many} lines stand in the club's outcomes now.",),
        "pass them on: chock club pack FILE all --outcomes, or chock club sync",
        {"shared": many, "lines": [offer.line for offer in offers]},
    )


def _is_wanted(shown: str) -> bool:
    if not sys.stdin.isatty():
        raise ClubError("nothing was shared; look first, then say --yes")
    print(shown)
    return input("Share these lines? (yes/no) ").strip().lower() in ("y", "yes")


def _forget(found: Club, asked: Namespace) -> Done:
    said = sharing.forget(_where(found))
    return Done((said,), "pass it on: chock club pack FILE all, or chock club sync")


_OF_OUTCOMES = MappingProxyType(
    {
        "": _told,
        "yes": _yes,
        "yes words": _yes_words,
        "share": _share,
        "no": _no,
        "forget": _forget,
    }
)


# --- remarks


def _remark(asked: Namespace) -> Done:
    text = " ".join(asked.words[1:]) or asked.why or ""
    if not (asked.words and text):
        raise ClubError(
            "say on what, and what: chock club remark PAGE 'check 3: too far away'"
        )
    found = own(asked)
    memory, _ = found.known()
    page = page_of(found.kb, asked.words[0])
    place, colon, said = text.partition(":")
    if not (colon and _is_place(place)):
        place, said = "page", text
    who = device.made(Path(found.home), memory.club).id
    pen = memory.pen or asked.pen or "a member"
    made = remark(found.kb, who, pen, page, place.strip(), said.strip(), today())
    return Done(
        (f"Noted on {page}, {made.place}: {made.words}",),
        "pass it on with the page: chock club pack FILE PAGE, or chock club sync",
    )


def _is_place(said: str) -> bool:
    kind = said.strip().lower().split(" ")[0]
    return kind in ("page", "check", "repair", "cause", "step")


def _remarks(asked: Namespace) -> Done:
    name = words(asked, "remarks PAGE")
    found = opened(asked)
    page = page_of(found.kb, name)
    told = remarks(found.kb, page)
    rows = [
        f"{one.remark.day.isoformat()} {one.remark.pen}, {one.remark.place}: "
        f"{one.remark.words}{'' if one.is_current else ' (of an older text)'}"
        for one in told.made
    ]
    if told.skipped:
        rows.append(f"{told.skipped} lines could not be read.")
    data = [
        {**one.remark._asdict(), "day": str(one.remark.day), "current": one.is_current}
        for one in told.made
    ]
    said = tuple(rows) or (f"Nobody remarked on {page} yet.",)
    return Done(said, "", {"remarks": data})


# --- texts set aside


def _aside(asked: Namespace) -> Done:
    found = opened(asked)
    page = page_of(found.kb, asked.words[0]) if asked.words else ""
    kept = asides.asides(found.kb, page)
    return Done(
        tuple(_differences(found, kept)) or ("Nothing is set aside.",),
        "to put one in its page's place: chock club use FILE; to let it go: chock club "
        "drop FILE"
        if kept
        else "",
        {"aside": [one._asdict() for one in kept]},
    )


MOST_TOLD = 12


def _differences(found: Club, kept: tuple[asides.Aside, ...]) -> Iterator[str]:
    for one in kept:
        yield f"{one.path}, beside {one.page}:"
        clashes = asides.differences(found.kb, one)
        yield from (f"  {clash}" for clash in clashes[:MOST_TOLD])
        if len(clashes) > MOST_TOLD:
            yield f"  and {len(clashes) - MOST_TOLD} more differences"


def _use(asked: Namespace) -> Done:
    name = words(asked, "use FILE")
    found = own(asked)
    one = asides.named(found.kb, name)
    asides.use(found.kb, found.home, one)
    return Done(
        (f"{one.page} is that text now; what stood there is set aside.",),
        "read it through; if it is right: chock club sign PAGE",
    )


def _drop(asked: Namespace) -> Done:
    name = words(asked, "drop FILE")
    found = own(asked)
    one = asides.named(found.kb, name)
    asides.drop(found.kb, found.home, one)
    return Done((f"{one.path} is let go.",), "to take that back: chock club undo")


ACTS: Mapping[str, Act] = MappingProxyType(
    {
        "outcomes": _outcomes,
        "remark": _remark,
        "remarks": _remarks,
        "aside": _aside,
        "use": _use,
        "drop": _drop,
    }
)
