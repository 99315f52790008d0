"""`chock screen`: the chat screen, or the plain lines where no screen can be."""

import os
import sys
from argparse import Namespace
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from bot.cli.progress import over, reading
from bot.desk.settings import THEMES, Settings, keep, settings
from bot.model.place import BotError
from bot.store.folders import home_folder, kb_folder

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.tui.cab import Cab

_UNSAID = {"new": False, "job": None, "theme": None, "truck": ""}
STARTING = "Starting..."


def screen(asked: Namespace) -> int:
    """Talk a job through on the whole screen; 0 when the person leaves."""
    whole = Namespace(**(_UNSAID | vars(asked)))
    wanted = settings(home_folder(whole.home))
    theme = _theme(whole.theme, wanted.theme)
    if not _can_draw():
        from bot.cli.talk import talk

        return talk(whole)
    over(STARTING)
    return _run(whole, replace(wanted, theme=theme))


def _theme(chosen: str | None, kept: str) -> str:
    theme = chosen or os.environ.get("CHOCK_THEME") or kept
    if theme not in THEMES:
        raise BotError(f"no theme '{theme}'; choose {' or '.join(THEMES)}")
    return theme


def _can_draw() -> bool:
    """Whether this is a terminal that can be drawn on; it is drawn on stderr."""
    if os.name != "nt" and os.environ.get("TERM", "") in ("", "dumb"):
        return False
    encoding = (sys.stderr.encoding or "").lower().replace("-", "")
    streams = (sys.stdin, sys.stdout, sys.stderr)
    return encoding == "utf8" and all(stream.isatty() for stream in streams)


def _run(asked: Namespace, wanted: Settings) -> int:
    from bot.cli.main import Exit
    from bot.cli.talk import entry_of, meant, which_truck
    from bot.desk.bench import open_jobs
    from bot.desk.conversation import Conversation
    from bot.desk.library import KbLibrary
    from bot.desk.truck import trucks
    from bot.store.clock import now
    from bot.store.journal import Journal

    kb, home = kb_folder(asked.kb, asked.home), home_folder(asked.home)
    journal = Journal(Path(home))
    library = KbLibrary(kb, home, journal, meant(home, asked.truck), reading)
    named = entry_of(journal, asked) if asked.job is not None else None

    from bot.desk.browse import Shelves
    from bot.tui.cab import Cab
    from bot.tui.frame import Desk

    def begin(number: int | None) -> Conversation:
        entry = journal.entry(number) if number is not None else None
        return Conversation(library, journal, now, entry)

    desk = Desk(
        begin,
        crash_file=Path(home, "crash.txt"),
        offers=() if named or asked.new else open_jobs(journal, library),
        number=named.number if named else None,
        remark=_remark(library.faults(), which_truck(home, library.in_use)),
        shelves=Shelves(home, journal, library),
        settings=wanted,
        keep=partial(keep, home),
        is_first=not (wanted.was_asked or trucks(home) or journal.listed()),
    )
    over("")
    cab = Cab(desk, wanted.theme)
    cab.run()
    _part(cab, home)
    left_out = Exit.NOT_WHOLE if library.faults() else Exit.OK
    return cab.return_code or left_out


def _part(cab: "Cab", home: str) -> None:
    """One line that stays in the terminal: what went wrong, or how to go on."""
    from bot.tui.words import NOTHING_SAID, parting

    if cab.talk:
        cab.talk.leave()
    if cab.trouble:
        sys.stderr.write(f"chock: {cab.trouble}\n")
    elif cab.talk and cab.talk.trouble:
        from bot.cli.talk import leaving

        sys.stdout.write(f"{leaving(cab.talk.trouble)}\n")
    elif cab.talk and cab.talk.job.words:
        number, is_over = cab.talk.number, cab.talk.is_over
        sys.stdout.write(f"{parting(number, home, is_over=is_over)}\n")
    else:
        sys.stdout.write(f"{NOTHING_SAID}\n")


def _remark(faults: "Sequence[str]", trucks: "Sequence[str]") -> str:
    left_out = ("Pages with mistakes are left out; 'chock lint' says where they are.",)
    return " ".join((*(left_out if faults else ()), *trucks))
