"""What may come in by git and what may go out: each file is looked through first."""

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from bot.cards.front import split
from bot.cards.strict_yaml import Text
from bot.club import names
from bot.desk.upkeep import read
from bot.model.kinds import Share
from bot.model.place import BotError, Fault
from bot.store.git import Entry, Git
from bot.store.pages import page
from bot.store.scan import WORDS
from bot.store.worktree import Look

MOST_FILES, MOST_NEW_BYTES = 100_000, 256 * 1024 * 1024
"""Of one tree, and of what is new in it."""

PRIVATE = "it is private: no 'share: club' or 'share: open' stands in its front matter"
_FOLDERS = ("club/sign-offs/", "club/remarks/")


def _nothing_against(path: str, text: str) -> str:
    return ""


def page_reads(path: str, text: str) -> bool:
    """Whether a page, or a file of words, has no fault that keeps it unread."""
    if not names.PAGE.fullmatch(path) and path not in WORDS:
        return True
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n")
    return not isinstance(read(plain, page(Path(path))), tuple)


class Checks(NamedTuple):
    """What is asked of every file, by its path and its text.

    `leaving` says why it may not leave, or nothing; `reads` whether it can be read.
    """

    leaving: Callable[[str, str], str] = _nothing_against
    reads: Callable[[str, str], bool] = page_reads


def why_stays(path: str, data: bytes, seen: Look, was: bool, checks: Checks) -> str:
    """Why a file of the work tree is not committed, or "".

    Args:
        path: where it lies.
        data: what is in it, UTF-8 text.
        seen: all files of the work tree.
        was: whether it was shared before.
        checks: what may leave.
    """
    owner = _page_of(path)
    if owner and owner in seen.files and _private(owner, seen.files[owner]):
        return f"its page '{owner}' is private" if owner != path else PRIVATE
    if names.WORDINGS.fullmatch(path) and owner not in seen.files and not was:
        return f"its page '{owner}' is not there"
    return why_not(path, data, checks)


def _page_of(path: str) -> str:
    """The page that a file belongs to; "" where it belongs to none."""
    if names.PAGE.fullmatch(path):
        return path
    if names.WORDINGS.fullmatch(path) or names.LINES_OF_RULE.fullmatch(path):
        return f"{names.stem(path)}.md"
    folder = next((folder for folder in _FOLDERS if path.startswith(folder)), "")
    return f"{path.removeprefix(folder).rpartition('/')[0]}.md" if folder else ""


def why_not(path: str, data: bytes, checks: Checks) -> str:
    """Why a file may not be in a commit that is passed on, or ""."""
    if not names.allowed(path):
        return "no file of that name may be shared"
    if len(data) > names.most_bytes(path):
        return f"it is longer than {names.most_bytes(path) >> 10} KiB"
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return "it is not UTF-8 text"
    is_page = names.PAGE.fullmatch(path) or names.ASIDE.fullmatch(path)
    if is_page and path.endswith(".md") and _private(path, data):
        return PRIVATE
    return checks.leaving(path, text)


def _private(path: str, data: bytes) -> bool:
    """Whether a page may be shared with nobody; so it is where that cannot be told."""
    text = data.decode("utf-8", "replace").removeprefix("\ufeff").replace("\r\n", "\n")
    front = split(text, path)
    share = None if isinstance(front, Fault) else front[0].tree.get("share")
    said = share.value if isinstance(share, Text) else ""
    return said not in (Share.OPEN.value, Share.CLUB.value)


def look_through(git: Git, tree: Mapping[str, Entry], known: Iterable[str]) -> None:
    """Look through all that would come in.

    Args:
        git: the repository, which has it already.
        tree: the files of the commit.
        known: the names of contents that are here already.

    Raises:
        BotError: something is not as it must be; with it all is refused.
    """
    wrong = next((why for path in tree if (why := _odd(path, tree[path]))), "")
    new = {entry.sha: path for path, entry in tree.items()}
    for sha in known:
        new.pop(sha, None)
    size = sum(tree[path].size for path in new.values())
    if len(tree) > MOST_FILES:
        wrong = f"more than {MOST_FILES} files"
    elif size > MOST_NEW_BYTES:
        wrong = wrong or f"more than {MOST_NEW_BYTES >> 20} MiB at once"
    for sha, data in ({} if wrong else git.blobs(new)).items():
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            wrong = f"'{new[sha]}' is not UTF-8 text"
    if wrong:
        raise BotError(
            f"what is shared there is refused: {wrong}; nothing was changed here, ask "
            "the club to take it out"
        )


def _odd(path: str, entry: Entry) -> str:
    if not entry.is_file:
        return f"{ascii(path)[:160]} is no ordinary file"
    if not names.allowed(path):
        return f"no file {ascii(path)[:160]} may lie in a knowledge base"
    if entry.size > names.most_bytes(path):
        return f"'{path}' is longer than {names.most_bytes(path) >> 10} KiB"
    return ""
