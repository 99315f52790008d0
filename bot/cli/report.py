"""`chock report`: the story of a job, or the history of a truck, to keep or to send."""

import re
from argparse import Namespace
from pathlib import Path

from bot.cli.progress import reading
from bot.cli.talk import meant
from bot.desk.history import truck_report
from bot.desk.library import KbLibrary
from bot.desk.report import job_report
from bot.model.place import BotError
from bot.paper.html import set_html
from bot.paper.markdown import set_markdown
from bot.paper.pieces import Heading, Piece
from bot.store.clock import now
from bot.store.files import write_whole
from bot.store.folders import home_folder, kb_folder
from bot.store.journal import Journal
from bot.talk.clean import clean_lines


def report(asked: Namespace) -> int:
    """Print a report as Markdown, or as one HTML file that needs nothing else."""
    kb, home = kb_folder(asked.kb, asked.home), home_folder(asked.home)
    journal = Journal(Path(home))
    library = KbLibrary(kb, home, journal, meant(home, asked.truck), reading)
    if asked.what and not re.fullmatch("[0-9]{1,9}", asked.what):
        raise BotError(f"'{asked.what}' is no job; write its number, or nothing")
    if asked.what:
        pieces = job_report(int(asked.what), journal, library)
    else:
        pieces = truck_report(journal, library, home, now())
    text = set_html(pieces, _title(pieces)) if asked.html else set_markdown(pieces)
    give(clean_lines(text), asked.out, "A report")
    return 0


def _title(pieces: list[Piece]) -> str:
    return next(piece.text for piece in pieces if isinstance(piece, Heading))


def give(text: str, out: str | None, what: str) -> None:
    """Print what was made, or write it to a file, whole or not at all, and say so.

    Raises:
        BotError: the file cannot be written.
    """
    if not out:
        print(text, end="")
        return
    try:
        write_whole(Path(out), text)
    except OSError as error:
        raise BotError(f"'{out}' cannot be written ({error.strerror})") from error
    print(f"{what} in {out}")
