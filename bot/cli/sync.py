"""`chock club sync`: exchange with the club's git remote, a folder on a stick too."""

from argparse import Namespace
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from bot.cli.club import Act, Done, own
from bot.cli.progress import reading
from bot.club.joined import counted
from bot.club.leaving import Says
from bot.desk.club import Club, ClubError
from bot.desk.exchange import by_kind, exchange, recover
from bot.desk.gate import Checks
from bot.desk.gitround import Change, Exchanged
from bot.desk.packing import looked
from bot.desk.sharing import Club as Where
from bot.desk.sharing import brought_in
from bot.store import clubs, device
from bot.store.git import Who

MOST_TOLD, MOST_NAMED = 12, 3
HOW = (
    "say where the club shares, once: chock club sync REMOTE, a folder on a stick or "
    "the address of a git host"
)


def _sync(asked: Namespace) -> Done:
    found = own(asked)
    memory, _ = found.known()
    remote = " ".join(asked.words) or memory.remote
    if not remote:
        raise ClubError(HOW)
    kb = Path(found.kb).absolute()
    recover(kb)
    who = Who(memory.pen or "member", device.made(Path(found.home), memory.club).id)
    done = exchange(kb, remote, who, Checks(_leaving(asked.passed or "")))
    clubs.remember(found.home, memory._replace(remote=remote))
    told = Club(found.kb, found.home).catch_up()
    brought_in(Where(kb, Path(found.home), memory.club), reading)
    return Done(
        (*_told(done), *told),
        _then(done),
        {
            "shared": [change.path for change in done.shared],
            "came": [change.path for change in done.came],
            "aside": [one.aside for one in done.conflicts],
            "unsent": done.unsent,
        },
    )


def _leaving(passed: str) -> Callable[[str, str], str]:
    def why(path: str, text: str) -> str:
        """Why a file may not leave; "" where it may."""
        for one in looked(path, text.encode("utf-8")):
            if one.find.says is Says.REFUSE:
                return f"line {one.find.line}: {one.find.what}; it may not be passed on"
            if not passed:
                return (
                    f"line {one.find.line}: {one.find.what}; if it may leave, say "
                    "--passed WHY"
                )
        return ""

    return why


def _told(done: Exchanged) -> tuple[str, ...]:
    rows = [f"Went out: {_counted(done.shared)}.", f"Came in: {_counted(done.came)}."]
    rows += [f"Clash: {one}" for one in done.conflicts[:MOST_TOLD]]
    rows += [f"Stays here: {one.path}: {one.why}" for one in done.stays[:MOST_TOLD]]
    if done.unsent:
        rows.append(f"Nothing went out: {done.unsent}")
    return tuple(rows)


def _counted(changes: tuple[Change, ...]) -> str:
    """How many of each kind, and the pages by name where they are few."""
    pages = by_kind(changes).get("page", ())
    few = f" ({', '.join(pages)})" if 0 < len(pages) <= MOST_NAMED else ""
    return f"{counted(change.path for change in changes) or 'nothing'}{few}"


def _then(done: Exchanged) -> str:
    if done.conflicts:
        return (
            "look at what clashed: chock club aside; put yours in: chock club use FILE"
        )
    return "see how things stand: chock club"


ACTS: Mapping[str, Act] = MappingProxyType({"sync": _sync})
