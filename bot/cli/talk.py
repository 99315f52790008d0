"""`chock talk`: the conversation line by line on standard input and output."""

import sys
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path

from bot.cli.lines import WIDTH, columns, lines, wrapped
from bot.cli.main import Exit
from bot.cli.progress import reading
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.truck import named, trucks
from bot.model.place import BotError
from bot.store.clock import now
from bot.store.folders import home_folder, kb_folder
from bot.store.journal import Entry, Journal
from bot.talk import phrases
from bot.talk.messages import Message


def talk(asked: Namespace) -> int:
    """Talk a job through; 0 when the person leaves or the job is closed."""
    kb, home = kb_folder(asked.kb, asked.home), home_folder(asked.home)
    journal = Journal(Path(home))
    library = KbLibrary(kb, home, journal, meant(home, asked.truck), reading)
    _print(which_truck(home, library.in_use))
    for fault in library.faults():
        print(f"left out: {fault}", file=sys.stderr)
    entry = entry_of(journal, asked)
    conversation = Conversation(library, journal, now, entry)
    if entry:
        _print([*wrapped(going_on(entry), columns(WIDTH)), ""])
    _show(conversation.open())
    while not conversation.is_over:
        while sys.stdin.isatty() and conversation.prepare():
            pass
        typed = _typed()
        bare = typed.strip().lower() if typed is not None else phrases.EOF[0]
        if bare in phrases.EOF:
            conversation.leave()
            _print(wrapped(leaving(conversation.trouble), columns(WIDTH)))
            return _status(conversation, library)
        if conversation.asks_for_another(typed or ""):
            left = conversation.left()
            conversation = Conversation(library, journal, now)
            _show((*left, *conversation.open()))
        else:
            _show(conversation.hear(typed or ""))
    conversation.leave()
    return _status(conversation, library)


def meant(home: str, said: str) -> str:
    """The id of the truck that the command line names; "" for the one in use."""
    return named(home, said) if said else ""


def which_truck(home: str, in_use: str) -> tuple[str, ...]:
    """Which of several trucks is meant, or that nobody said."""
    known = trucks(home)
    if len(known) < 2:
        return ()
    meant = ABOUT.format(in_use) if in_use else WHICH.format(", ".join(known))
    return (meant,)


ABOUT = "New jobs are about {}; for another truck: --truck NAME."
WHICH = (
    "Several trucks are noted ({}), and none of them is meant: a job is about none "
    "until you say chock truck use NAME, or --truck NAME."
)


def _status(conversation: Conversation, library: KbLibrary) -> int:
    """What the program ends with: answers that are lost, or pages left out, show."""
    if conversation.trouble:
        return Exit.FAILED
    return Exit.NOT_WHOLE if library.faults() else Exit.OK


def leaving(trouble: str) -> str:
    """The last line: what is saved, and what is not."""
    if trouble:
        return f"NOT SAVED ({trouble}): what was said last is lost with this window."
    return "Everything is saved. chock talk goes on from here."


def going_on(entry: Entry) -> str:
    """The line that says which job is open again."""
    words = entry.job.words[0] if entry.job.words else ""
    return (
        f'Going on with job {entry.number} of {entry.opened[:10]}: "{words[:60]}". '
        "Type new for a new job."
    )


def entry_of(journal: Journal, asked: Namespace) -> Entry | None:
    """The job that the command line names, the newest open one, or None for a new."""
    if asked.job is not None:
        entry = journal.entry(asked.job)
        if entry is None:
            raise BotError(f"there is no job {asked.job}; 'chock jobs' lists them")
        return entry
    return None if asked.new else journal.latest_open()


def _typed() -> str | None:
    try:
        return input("> ")
    except (EOFError, KeyboardInterrupt):
        print()
        return None
    except UnicodeDecodeError:
        return ""


def _show(messages: Iterable[Message]) -> None:
    _print(lines(messages, columns(WIDTH)))


def _print(out: Iterable[str]) -> None:
    for line in out:
        print(line)
    sys.stdout.flush()
