"""Exchange with the club by git: what changed here goes out, what is new comes in.

Whatever comes is looked through before anything here is touched (`bot.desk.gate`).
Pages that both sides changed are put together in their own terms; where that cannot be,
theirs stays in its place and ours is set aside. What is private, or kept back by
`Checks.leaving`, is in no commit that is made here; commits made by hand are looked
through before they are passed on.
"""

import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from bot.club import names
from bot.club.joined import aside_path
from bot.desk.gate import Checks
from bot.desk.gitround import Change, Exchanged, Round
from bot.model.place import BotError
from bot.store import worktree
from bot.store.files import read_whole, write_whole
from bot.store.git import Git, Who, remote_of
from bot.store.gitrun import GitError, need_git
from bot.store.lock import alone

PATIENCE_S = 10.0


def by_kind(changes: Iterable[Change]) -> dict[str, tuple[str, ...]]:
    """The paths of changes, by what people call such files."""
    found: dict[str, tuple[str, ...]] = {}
    for change in changes:
        found[change.kind] = (*found.get(change.kind, ()), change.path)
    return found


def exchange(kb: Path, remote: str, who: Who, checks: Checks) -> Exchanged:
    """Share a knowledge base with a remote: a folder, on a stick too, or an address.

    Whatever happens, the files here are what they were, or what they are together with
    what came; `recover` ends what a death left half done.

    Args:
        kb: the knowledge base; it becomes a git work tree where it is none.
        remote: where the club shares.
        who: whose commits these are.
        checks: what may leave, and which pages can be read.

    Raises:
        BotError: there is no way to the remote, what is there is refused whole, or the
            disk failed. What was changed here is kept in a commit if it could be.
    """
    need_git()
    there = remote_of(remote)
    with _locked(kb) as git:
        return Round(git, there, who, checks).run()


def recover(kb: Path) -> None:
    """Carry out what a death left half done; cheap where there is nothing.

    Raises:
        BotError: the disk failed.
    """
    if (kb / ".git" / "chock" / "plan").exists():
        with _locked(kb) as git:
            worktree.recover(git)


def clone(remote: str, kb: Path) -> tuple[Change, ...]:
    """Begin a knowledge base from what the club has; all of it or nothing.

    Raises:
        BotError: the folder is not empty, there is no way to the remote, nothing is
            there, or what is there is refused.
    """
    need_git()
    there = remote_of(remote)
    if kb.exists() and not (kb.is_dir() and not any(kb.iterdir())):
        raise BotError(f"'{kb}' is not empty; name a folder that is not there yet")
    beside = kb.with_name(f".{kb.name}.clone")
    try:
        shutil.rmtree(beside, ignore_errors=True)
        beside.mkdir(parents=True)
        with _locked(beside) as git:
            came = Round(git, there, Who("", ""), Checks()).begin()
        if kb.exists():
            kb.rmdir()
        beside.rename(kb)
    except OSError as error:
        raise _no_disk(error) from None
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return came


def resolve(kb: Path, page: str, whose: str) -> str:
    """End a clash: "mine" makes what was set aside the page, "theirs" lets it go.

    That is an edit like any other: the next exchange shares it.

    Args:
        kb: the knowledge base.
        page: the page's path in it, or that of what was set aside.
        whose: "mine" or "theirs".

    Returns:
        The path of the page.

    Raises:
        BotError: nothing is set aside, or more than one text of the page is.
    """
    if whose not in ("mine", "theirs"):
        raise BotError(f"'{whose}' is neither; say 'mine' or 'theirs'")
    aside = _aside_of(kb, page)
    target = page_of_aside(aside)
    try:
        if whose == "mine":
            text = read_whole(kb / aside).decode("utf-8")
            (kb / target).parent.mkdir(parents=True, exist_ok=True)
            write_whole(kb / target, text)
        (kb / aside).unlink()
    except OSError as error:
        raise _no_disk(error) from None
    return target


def page_of_aside(aside: str) -> str:
    """The file that a text set aside was written for.

    >>> page_of_aside("club/aside/cards/brakes/brake-drags.0123456789ab.md")
    'cards/brakes/brake-drags.md'
    """
    stem, _, ending = aside.removeprefix("club/aside/").rsplit(".", 2)
    if "/" in stem:
        return f"{stem}.md" if ending == "md" else f"{stem}.wordings.txt"
    known = {aside_path(name, b"").split(".")[0]: name for name in sorted(names.WHOLE)}
    return known.get(f"club/aside/{stem}", aside)


def _aside_of(kb: Path, page: str) -> str:
    found = (path.relative_to(kb).as_posix() for path in kb.glob("club/aside/**/*.*"))
    known = (names.ASIDE, names.ASIDE_WHOLE)
    asides = [path for path in found if any(one.fullmatch(path) for one in known)]
    if page in asides:
        return page
    asides = sorted(path for path in asides if page_of_aside(path) == page)
    if not asides:
        raise BotError(f"nothing is set aside of '{page}'; see what is in club/aside")
    if len(asides) > 1:
        raise BotError(f"say which: {', '.join(asides)}")
    return asides[0]


def _no_disk(error: OSError) -> BotError:
    return BotError(
        f"the disk refuses ({error.strerror}); look at it or make room, then share "
        "again"
    )


@contextmanager
def _locked(kb: Path) -> Iterator[Git]:
    """The repository of a knowledge base, for this window alone, whole."""
    git = Git(kb)
    if git.folder.is_symlink() or (git.folder.exists() and not git.folder.is_dir()):
        raise GitError(f"'{git.folder}' is no folder; share from the repository itself")
    try:
        if not git.ours.is_dir():
            git.make()
        with alone(git.ours / "lock", PATIENCE_S) as ours:
            if not ours:
                raise GitError("another window is sharing just now; wait for it")
            worktree.recover(git)
            yield git
    except OSError as error:
        raise _no_disk(error) from None
