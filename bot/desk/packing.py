"""A pack made: which files go in, and what may not leave."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from bot.club.envelope import Envelope
from bot.club.envelope import read as read_envelope
from bot.club.leaving import Find, Says, finds, kept_back
from bot.club.names import PAGE, SIGN_OFF, in_pack, stem, wordings_of
from bot.club.pack import KIND, NONE, Pack, head_of, write_pack
from bot.club.signoff import KIND as OF_SIGN_OFFS
from bot.club.signoff import Said, read_signoff
from bot.desk.club import Club, ClubError, pages_of, signed_pages
from bot.desk.upkeep import read
from bot.model.card import Card
from bot.model.kinds import Share
from bot.model.pages import Note, Procedure
from bot.model.place import BotError
from bot.model.rule import StopRule
from bot.store import clubs
from bot.store.clock import today
from bot.store.files import read_whole
from bot.store.keys import Key
from bot.store.pages import page as page_at
from bot.store.pages import text_of

ALL = "all"


class Wanted(NamedTuple):
    """What a pack is to hold.

    `names` are ids, paths, systems or "all"; `for_anybody` leaves out what is for
    members; `with_outcomes` puts the outcomes of all devices in; `passed` says that the
    person has looked at what was asked about, and why it may leave.
    """

    names: Sequence[str]
    for_anybody: bool = False
    with_outcomes: bool = False
    passed: str = ""


class Asked(NamedTuple):
    """Something in a file that may be private or another's."""

    path: str
    find: Find

    def __str__(self) -> str:
        find = self.find
        return f"{self.path}, line {find.line}: {find.what}: {find.quote}"


class Packed(NamedTuple):
    """A pack that was made: its bytes, its pages, and what was left out and why."""

    data: bytes
    number: int
    pages: tuple[str, ...]
    left_out: tuple[str, ...]


class LeavingError(ClubError):
    """Something may not leave, or has to be looked at first."""

    def __init__(self, says: str, asked: Sequence[Asked]) -> None:
        super().__init__(says)
        self.asked = tuple(asked)


def pack(club: Club, wanted: Wanted, key: Key | None = None) -> Packed:
    """Make a pack of chosen pages, all that was signed of them, and the rule.

    Raises:
        BotError: a name is not known, or something may not leave.
    """
    chosen, left_out = chosen_of(club.kb, wanted)
    files = dict(_files(club, chosen, wanted))
    _look_through(files, wanted)
    memory = club.memory
    made = Pack(
        memory.club if memory else NONE,
        memory.number + 1 if memory else 1,
        today(),
        files,
        wanted.passed,
    )
    if key and memory:
        made = made._replace(signed=_signed(made, key))
    data = write_pack(made)
    if memory:
        club.memory = memory._replace(number=made.number)
        clubs.remember(club.home, club.memory)
    return Packed(data, made.number, tuple(chosen), tuple(left_out))


def _signed(made: Pack, key: Key) -> Envelope:
    return key.sign(KIND, head_of(made))


def chosen_of(kb: str, wanted: Wanted) -> tuple[list[str], list[str]]:
    """The pages that go in, and why others that were meant with them stay.

    Raises:
        ClubError: a name is not known, or a page that was named itself may not leave.
    """
    every = pages_of(kb)
    chosen: dict[str, None] = {}
    left_out = []
    for name in wanted.names:
        meant = [path for path in every if _is_meant(path, name)]
        if not meant:
            raise ClubError(f"there is no page or system '{name}'; see 'chock cards'")
        for path in meant:
            why = kept_back(path, share_of(kb, path), to_public=wanted.for_anybody)
            if why and len(meant) == 1:
                raise ClubError(why)
            if why:
                left_out.append(why)
            else:
                chosen[path] = None
    if not chosen:
        raise ClubError("nothing of it may leave; 'share: club' in a page allows it")
    return sorted(chosen), left_out


def _is_meant(path: str, name: str) -> bool:
    *folders, file = path.split("/")
    return name in (ALL, path, file.removesuffix(".md"), folders[-1])


def share_of(kb: str, path: str) -> Share | None:
    """With whom a page may be shared, by its own word; None where it cannot be read."""
    found = page_at(Path(kb, path))
    text = text_of(found)
    held = read(text, found) if isinstance(text, str) else None
    return held.share if isinstance(held, Card | Procedure | Note | StopRule) else None


def _files(
    club: Club, chosen: Iterable[str], wanted: Wanted
) -> Iterator[tuple[str, bytes]]:
    root = Path(club.kb)
    for page in chosen:
        yield page, read_whole(root / page)
        beside = wordings_of(page)
        if beside and (root / beside).is_file():
            yield beside, read_whole(root / beside)
    within = [root / "club" / "rules", root / "club" / "forgotten"]
    within += [root / "club" / "sign-offs" / stem(page) for page in chosen]
    within += [root / "club" / "remarks" / stem(page) for page in chosen]
    within += [root / "club" / "outcomes"] if wanted.with_outcomes else []
    for folder in within:
        yield from _papers(root, folder)
    for page in signed_pages(club.kb):  # what was withdrawn travels with every pack
        signs = club.standings.signed(page)
        if not any(one.signoff.says is Said.WITHDRAWN for one in signs):
            continue
        share = share_of(club.kb, page)
        if kept_back(page, share, to_public=wanted.for_anybody) is None:
            yield from _papers(root, root / "club" / "sign-offs" / stem(page))


def _papers(root: Path, folder: Path) -> Iterator[tuple[str, bytes]]:
    """The files of a folder that a pack may hold."""
    for path in sorted(folder.glob("*")):
        name = path.relative_to(root).as_posix()
        if in_pack(name) and path.is_file():
            yield name, read_whole(path)


def _look_through(files: dict[str, bytes], wanted: Wanted) -> None:
    """Refuse what may never leave; ask about what may be private or another's."""
    asked = [one for path, data in sorted(files.items()) for one in looked(path, data)]
    never = [one for one in asked if one.find.says is Says.REFUSE]
    if never:
        raise LeavingError("not packed: a paper that may not be passed on", never)
    if asked and not wanted.passed:
        raise LeavingError(
            "not packed yet: look at these; if they may leave, say why: "
            "--passed 'the club's own number'",
            asked,
        )


def looked(path: str, data: bytes) -> Iterator[Asked]:
    """What in a file of the knowledge base may not leave, or has to be asked about."""
    text = data.decode("utf-8", "replace")
    if SIGN_OFF.fullmatch(path):
        text = _remark_of(data)
    elif not (PAGE.fullmatch(path) or path.startswith("club/remarks/")) and not (
        path.endswith(".wordings.txt")
    ):
        return
    for find in finds(text):
        if find.says is not Says.PASS:
            yield Asked(path, find)


def _remark_of(data: bytes) -> str:
    """What a reviewer wrote beside a sign-off; "" where it cannot be read."""
    try:
        return read_signoff(read_envelope(data, OF_SIGN_OFFS).payload).remark
    except BotError:
        return ""
