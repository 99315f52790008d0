"""Where things lie: the knowledge base, and the person's own store."""

from __future__ import annotations

import os

PACKAGE = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


def kb_folder(chosen: str | None) -> str:
    """The knowledge base: as chosen, as CHOCK_KB says, or the one that came along.

    Raises:
        FolderError: there is no such folder.
    """
    wanted = chosen or os.environ.get("CHOCK_KB")
    if wanted:
        folder = os.path.expanduser(wanted)
        if not _is_text(os.path.abspath(folder)):
            _refuse("the knowledge base's folder has a name that is no text; rename it")
        if not os.path.isdir(os.path.join(folder, "cards")):
            cards = os.path.join(folder, "cards")
            _refuse(f"no folder '{cards}'; choose a knowledge base with --kb DIR")
        return folder
    installed = os.path.join(PACKAGE, "kb")
    if os.path.isdir(installed):
        return installed
    return os.path.join(os.path.dirname(PACKAGE), "kb")


def _is_text(path: str) -> bool:
    """Whether a path can be written down: a name may hold any bytes."""
    try:
        path.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


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
