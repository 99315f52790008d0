"""A pack taken in: first looked at whole, then told what would happen, then done.

A page and the wordings beside it go together. What the club vetted comes before what
one member wrote; what one wrote here is never lost: what does not become the page is
set aside under `club/aside`.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from bot.cards.contents import read_contents, write_contents
from bot.club.envelope import EnvelopeError
from bot.club.envelope import read as read_envelope
from bot.club.lines import PaperError
from bot.club.merge import union
from bot.club.names import (
    APPENDED,
    PAGE,
    RULE,
    RULE_SIGNED,
    SIGN_OFF,
    WORDINGS,
    stem,
)
from bot.club.pack import Pack, PackError
from bot.club.rule import KIND as RULE_KIND
from bot.club.rule import read_rule
from bot.club.signoff import KIND, NONE, Signed, read_signoff
from bot.desk.club import Club, pages_of
from bot.desk.deciding import BASE, Row, decide, digest, held_at, read_page
from bot.desk.sharing import Club as Where
from bot.desk.sharing import brought_in
from bot.desk.shelf import Told, nobody
from bot.desk.standing import proved
from bot.desk.vetting import SHORT
from bot.store import clubs
from bot.store.changes import change
from bot.store.keys import checks


class Taking(NamedTuple):
    """What taking a pack will do; nothing is done yet.

    `files` by path what will stand there; `others` are files of the club that are new;
    `remarks` are lines on the pack as a whole.
    """

    pack: Pack
    rows: tuple[Row, ...]
    files: Mapping[str, bytes]
    others: int
    remarks: tuple[str, ...]

    @property
    def changes(self) -> bool:
        """Whether anything will be other than it is."""
        return bool(self.files)


def look(club: Club, pack: Pack) -> Taking:
    """What taking a pack would do.

    Raises:
        PackError: something in it is refused, and with it all of it.
    """
    remarks = tuple(_remarks(club, pack))
    _look_through(club, pack)
    others = dict(_others(club, pack))
    signed = [one for data in _sign_offs(pack) for one in _proved(club, data)]
    rows, files = [], dict(others)
    for page in _pages(pack):
        row, come = decide(club, pack, page, signed)
        rows.append(row)
        files.update(come)
    if any(PAGE.fullmatch(p) or WORDINGS.fullmatch(p) for p in files):
        files |= _contents(club.kb, files)
    return Taking(pack, tuple(rows), files, len(others), remarks)


def take(club: Club, taking: Taking, reading: Told = nobody) -> tuple[str, ...]:
    """Do it, all or nothing; what changed in the club's rule comes back in words.

    Args:
        club: where it is taken in.
        taking: as it was looked at.
        reading: hears how far pages are read, where that is needed.

    Raises:
        BotError: nothing was changed.
        OSError: it was done, but could not be noted.
    """
    if taking.files:
        made = taking.pack.made.isoformat()
        name = f"pack {taking.pack.number} of {made}"
        change(club.home, club.kb, name, taking.files)
    _note_bases(club, taking)
    _note_pack(club, taking.pack)
    told = club.catch_up()
    if club.memory and taking.others:
        brought_in(Where(Path(club.kb), Path(club.home), club.memory.club), reading)
    return told


# The pack as a whole


def packer(club: Club, pack: Pack) -> tuple[str, str]:
    """The key of who packed it, and his pen name; "" where that is not proved.

    Raises:
        PackError: a key of the club's is named that did not sign it.
    """
    if club.rule is None or pack.signed is None:
        return "", ""
    named = {one.key_id for one in pack.signed.signatures}
    right = pack.signed.signers(club.rule.keys, checks)
    if wrong := sorted(named & club.rule.keys.keys() - right):
        raise PackError(
            f"refused: it says that {club.rule.pen(wrong[0])} packed it, and the "
            "signature is wrong; throw it away"
        )
    key = min(right, default="")
    return key, club.rule.pen(key)


def _remarks(club: Club, pack: Pack) -> Iterator[str]:
    key, pen = packer(club, pack)
    if pen:
        yield f"Packed by {pen} on {pack.made.isoformat()}, number {pack.number}."
    elif club.memory:
        yield f"Packed on {pack.made.isoformat()}, by nobody whom the club knows."
    else:
        yield (
            f"Packed on {pack.made.isoformat()}. You are in no club yet: nobody can "
            "tell by whom. To join its club: chock club join FILE."
        )
    if club.memory and pack.club not in (club.memory.club, NONE):
        yield "It is of another club: nothing that is signed there counts here."
    before = club.memory.packed.get(key, 0) if club.memory else 0
    if before == pack.number:
        yield "You have taken this pack before."
    elif before > pack.number:
        yield f"It is older than pack {before}, which you have taken from {pen}."


def _look_through(club: Club, pack: Pack) -> None:
    """Read every file of a pack as chock will read it; refuse all for one mistake."""
    kinds: dict[str, str] = {}
    here = {Path(path).stem: path for path in pages_of(club.kb)}
    for path, data in pack.files.items():
        name = Path(path).stem
        if PAGE.fullmatch(path):
            if kinds.setdefault(name, path) != path or here.get(name, path) != path:
                raise PackError(
                    f"refused: '{path}' has the name of another page; ask its maker to "
                    "give it one of its own"
                )
            read_page(path, data)
        elif WORDINGS.fullmatch(path):
            read_page(path, data)
        else:
            _read_paper(path, data)


def _read_paper(path: str, data: bytes) -> None:
    """Refuse a paper of the club that is damaged, or stands under a wrong name."""
    try:
        if SIGN_OFF.fullmatch(path):
            said = read_signoff(read_envelope(data, KIND).payload)
            folder = f"club/sign-offs/{stem(said.page)}"
            right = path.startswith(f"{folder}/{digest(data)[:SHORT]}.")
        elif RULE.fullmatch(path):
            version = read_rule(data).version
            right = path == f"club/rules/{version:04}.{digest(data)[:SHORT]}.txt"
        elif RULE_SIGNED.fullmatch(path):
            held = read_envelope(data, RULE_KIND)
            right = f".{digest(held.payload)[:SHORT]}." in path
        else:
            data.decode("utf-8")
            right = True
    except (EnvelopeError, PaperError, UnicodeDecodeError) as why:
        raise PackError(f"refused: {path}: {why}") from None
    if not right:
        raise PackError(f"refused: {path} has another name than what is in it")


# Papers of the club


def _others(club: Club, pack: Pack) -> Iterator[tuple[str, bytes]]:
    """Papers that are not here yet, or of which more lines have come."""
    for path, data in pack.files.items():
        if PAGE.fullmatch(path) or WORDINGS.fullmatch(path):
            continue
        held = held_at(club.kb, path)
        if held is None:
            yield path, data
        elif any(pattern.fullmatch(path) for pattern in APPENDED):
            both = union(held.decode("utf-8", "replace"), data.decode("utf-8"))
            if both.encode() != held:
                yield path, both.encode()


def _sign_offs(pack: Pack) -> Iterator[bytes]:
    yield from (d for path, d in pack.files.items() if SIGN_OFF.fullmatch(path))


def _proved(club: Club, data: bytes) -> Iterator[Signed]:
    return proved(data, club.rule.keys) if club.rule else iter(())


# What is kept for the next pack


def _note_bases(club: Club, taking: Taking) -> None:
    """Keep the pages as they came: beside them one's own edits are seen later."""
    root = clubs.folder(club.home) / BASE
    for path, data in taking.pack.files.items():
        if PAGE.fullmatch(path) or WORDINGS.fullmatch(path):
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_bytes(data)


def _note_pack(club: Club, pack: Pack) -> None:
    key, _ = packer(club, pack)
    if club.memory and key:
        number = max(pack.number, club.memory.packed.get(key, 0))
        packed = {**club.memory.packed, key: number}
        club.memory = club.memory._replace(packed=packed)
        clubs.remember(club.home, club.memory)


def _contents(kb: str, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The list of what belongs to the knowledge base, with what came."""
    held = held_at(kb, "contents.txt")
    listed = read_contents(held.decode("utf-8", "replace"), "") if held else ()
    known = () if isinstance(listed, tuple) else listed.paths
    came = (p for p in files if PAGE.fullmatch(p) or WORDINGS.fullmatch(p))
    text = write_contents({*known, *came}).encode()
    return {} if text == held else {"contents.txt": text}


def _pages(pack: Pack) -> list[str]:
    """The pages that a pack has something for."""
    return sorted(
        {
            f"{stem(path)}.md"
            for path in pack.files
            if PAGE.fullmatch(path) or WORDINGS.fullmatch(path)
        }
    )
