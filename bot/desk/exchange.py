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

from bot.desk.gate import Checks
from bot.desk.gitround import Change, Exchanged, Round
from bot.model.place import BotError
from bot.store import worktree
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
