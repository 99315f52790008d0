"""Where things lie: the knowledge base, and the person's own store."""

from __future__ import annotations

import os

PACKAGE = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


OWN = "kb"
"""The person's own copy of a knowledge base, in the store: what a club changes."""


def kb_folder(chosen: str | None, home: str | None = None) -> str:
    """The knowledge base: as chosen, as CHOCK_KB says, one's own, or what came along.

    What a death left half changed there is brought to its end first.

    Args:
        chosen: the folder named with the command.
        home: the store named with the command.

    Raises:
        FolderError: there is no such folder.
    """
    store = _store(home)
    if store and os.path.exists(os.path.join(store, "club", "changing")):
        from bot.store.changes import recover

        recover(store)
    wanted = chosen or os.environ.get("CHOCK_KB")
    if wanted:
        folder = os.path.expanduser(wanted)
        if not _is_text(os.path.abspath(folder)):
            _refuse("the knowledge base's folder has a name that is no text; rename it")
        if not os.path.isdir(os.path.join(folder, "cards")):
            cards = os.path.join(folder, "cards")
            _refuse(f"no folder '{cards}'; choose a knowledge base with --kb DIR")
        return folder
    own = os.path.join(store, OWN)
    if store and os.path.isdir(os.path.join(own, "cards")):
        return own
    return installed()


def installed() -> str:
    """The knowledge base that came along with chock."""
    folder = os.path.join(PACKAGE, "kb")
    if os.path.isdir(folder):
        return folder
    return os.path.join(os.path.dirname(PACKAGE), "kb")


def own_kb(chosen: str | None, home: str) -> str:
    """The knowledge base to change: as chosen, or one's own, made where it is missing.

    Raises:
        FolderError: it is not there, or cannot be made.
    """
    folder = kb_folder(chosen, home)
    if folder != installed() or chosen or os.environ.get("CHOCK_KB"):
        return folder
    import shutil

    own = os.path.join(home, OWN)
    beside = f"{own}.{os.getpid()}.new"
    try:
        shutil.copytree(folder, beside)
        os.replace(beside, own)
    except OSError as error:
        shutil.rmtree(beside, ignore_errors=True)
        _refuse(
            f"no copy of the pages could be made in '{home}' ({error.strerror}); make "
            "room, or choose another store with --home DIR"
        )
    return own


def _is_text(path: str) -> bool:
    """Whether a path can be written down: a name may hold any bytes."""
    try:
        path.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _store(chosen: str | None) -> str:
    """Where the person's store is, made or not; "" where that cannot be told."""
    wanted = chosen or os.environ.get("CHOCK_HOME")
    try:
        return os.path.expanduser(wanted) if wanted else _usual_home()
    except (OSError, RuntimeError):
        return ""


def home_folder(chosen: str | None) -> str:
    """The person's store: as chosen, as CHOCK_HOME says, or where data is usual.

    Raises:
        FolderError: it cannot be made.
    """
    wanted = chosen or os.environ.get("CHOCK_HOME")
    folder = os.path.expanduser(wanted) if wanted else _usual_home()
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
    except OSError as error:
        _refuse(
            f"cannot make the folder '{folder}' ({error.strerror}); choose another "
            "with --home DIR"
        )
    return folder


def _usual_home() -> str:
    from platformdirs import user_data_dir

    return user_data_dir("chock", appauthor=False)


def _refuse(says: str) -> None:
    from bot.model.place import FolderError

    raise FolderError(says)
