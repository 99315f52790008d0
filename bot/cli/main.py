"""The command `chock`: reads the command line, runs the command, gives its exit."""

from __future__ import annotations

import argparse
import os
import sys
from enum import IntEnum
from typing import TYPE_CHECKING, cast

from bot.cli.guard import Guarded, leave, plain

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TextIO


class Exit(IntEnum):
    """Exit statuses."""

    OK = 0
    FAILED = 1
    USAGE = 2
    NOT_WHOLE = 3
    """Done, with a knowledge base of which something was left out."""


def run() -> None:
    """Entry point of the installed command."""
    words = sys.argv[1:]
    leave(main(words), at_once=_named(words) == ["ask"])


def main(words: list[str]) -> int:
    """Carry out one command line; the exit status comes back.

    What is printed meanwhile goes through the guard; the screen draws past it.
    """
    _speak_plainly()
    out, err = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = cast("TextIO", Guarded(out)), cast("TextIO", Guarded(err))
    try:
        return _carried_out(words)
    finally:
        sys.stdout, sys.stderr = out, err


def _carried_out(words: list[str]) -> int:
    named = _named(words)
    opens_screen = not words or words[0].startswith("-")
    if not named and opens_screen and not {"-h", "--help"} & set(words):
        words, named = ["screen", *words], ["screen"]
    asked = _parser(named[0] if named else "").parse_args(words)
    if "words" in asked:
        asked.words = [plain(word) for word in asked.words]
    try:
        return _COMMANDS[asked.command][2](asked)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.FAILED
    except Exception as error:
        from bot.model.place import BotError

        if isinstance(error, BotError):
            print(f"chock: {error}", file=sys.stderr)
            return Exit.FAILED
        raise


def _named(words: list[str]) -> list[str]:
    """The words of a command line that are commands, what options take left out."""
    behind = zip(("", *words), words, strict=False)
    return [word for last, word in behind if word in _COMMANDS and last not in _TAKE]


_TAKE = ("--kb", "--home", "--truck", "--theme", "--job")
"""Options before a command that take a word behind them."""


def _speak_plainly() -> None:
    """Never fail on a terminal that knows few letters: odd ones become marks."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    if hasattr(sys.stdin, "reconfigure"):
        sys.stdin.reconfigure(errors="replace")


class _Parser(argparse.ArgumentParser):
    """One plain line for wrong use."""

    def error(self, message: str) -> None:  # type: ignore[override]
        """Say what is wrong and where to look; exit 2."""
        name = self.prog
        print(f"{name}: {message}; see '{name} --help'", file=sys.stderr)
        sys.exit(Exit.USAGE)


def _parser(command: str) -> argparse.ArgumentParser:
    """The parser: of the command that is asked for alone, of all where none is."""
    parser = _Parser(
        prog="chock",
        description="Say what is wrong with the truck; chock helps to find and mend "
        "it. Without a command it opens the chat screen.",
        formatter_class=_Help,
    )
    _folders(parser, None)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", prog="chock")
    for name in [command] if command else _COMMANDS:
        text, fill, _ = _COMMANDS[name]
        added = commands.add_parser(
            name,
            help=text,
            description=text,
            formatter_class=_Help,
            add_help=name != "sum",  # which tells of the sum itself
        )
        _folders(added, argparse.SUPPRESS)
        fill(added)
    return parser


class _Help(argparse.HelpFormatter):
    """Help of one width everywhere; asking the terminal costs a fifth of a start."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=79)


def _folders(parser: argparse.ArgumentParser, default: str | None) -> None:
    parser.add_argument("--kb", default=default, metavar="DIR", help="knowledge base")
    parser.add_argument("--home", default=default, metavar="DIR", help="your own store")


def _which_job(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--new", action="store_true", help="start a new job")
    parser.add_argument("--job", type=int, help="go on with the job of that number")
    _which_truck(parser, "the truck that a new job is about")


def _which_truck(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument("--truck", default="", metavar="NAME", help=what)


def _screen_options(parser: argparse.ArgumentParser) -> None:
    _which_job(parser)
    parser.add_argument("--theme", choices=("night", "sun"), help="colours")


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def _words(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "words", nargs="*", help="what is wrong; - reads standard input"
    )
    parser.add_argument("--top", type=int, default=3, help="how many cards (default 3)")
    _json(parser)


def _heard(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="*", help="as you would type them")
    parser.add_argument("--at", metavar="CARD/CHECK", help="held against its answers")
    parser.add_argument(
        "--options", metavar="FILE", help="or against these, one a line"
    )
    _json(parser)


def _card_id(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("id", help="the card's id")
    _json(parser)


def _to_print(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("ids", nargs="+", help="pages, systems, or all: the whole book")
    parser.add_argument("--html", action="store_true", help="one HTML file, for A4")
    parser.add_argument("--out", help="the file to write; without it, standard output")


def _new_page(parser: argparse.ArgumentParser) -> None:
    kinds = "fault, procedure, note, stub or rule; not with --from"
    of = "the system, e.g. brakes; of a note, the page it is about"
    for name, says in (("kind", kinds), ("id", "letters, digits, hyphens"), ("of", of)):
        parser.add_argument(name, nargs="?", default="", help=says)
    parser.add_argument("--from", dest="job", metavar="JOB", help="draft it from a job")
    parser.add_argument("--page", action="store_true", help="--from: a page, no note")


def _paths(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("paths", nargs="*", help="a knowledge base, or pages in one")
    mends = "first write in what can be: the cautions that steps name"
    parser.add_argument("--mend", action="store_true", help=mends)
    _json(parser)


def _of_jobs(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "what",
        nargs="?",
        default="",
        metavar="N",
        help="the job to show; or check: prove that all is whole in both copies; "
        "mend: put right what can be; backup: all in one file; restore: take it back; "
        "words: those kept to find pages by; forget: keep those of a job no longer",
    )
    parser.add_argument(
        "where", nargs="?", default="", metavar="WHICH", help="a backup, or a job"
    )
    _json(parser)


OF_A_TRUCK = (
    "name",
    "where",
    "rather",
    "aboard",
    "used",
    "lacks",
    "units",
    "fitted",
    "without",
    "since",
    "yearly",
    "new",
    "use",
)


def _truck_words(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", nargs="?", choices=OF_A_TRUCK, help="what to note")
    parser.add_argument("words", nargs="*", help="in plain words")
    _json(parser)


def _of_club(parser: argparse.ArgumentParser) -> None:
    acts = (
        "begin, join, key, admit, remove, needs, agree, rule; sign, withdraw, remark, "
        "remarks; pack, look, take, undo, sync; aside, use, drop; outcomes; without "
        "one: how things stand"
    )
    parser.add_argument("act", nargs="?", default="", metavar="ACT", help=acts)
    parser.add_argument("words", nargs="*", help="what it is done to")
    parser.add_argument("--as", dest="pen", metavar="PEN", help="your name in the club")
    parser.add_argument(
        "--for", dest="systems", metavar="SYSTEMS", help="brakes,engine"
    )
    parser.add_argument("--why", metavar="WORDS", help="the reason, or a remark")
    parser.add_argument("--open", action="store_true", help="for anybody, not members")
    parser.add_argument("--outcomes", action="store_true", help="pack outcomes, too")
    passed = "what chock asked about may leave, and why"
    parser.add_argument("--passed", metavar="WHY", help=passed)
    parser.add_argument("--fingerprint", metavar="LAST4", help="as a member read it")
    parser.add_argument("--yes", action="store_true", help="do it without asking")
    _json(parser)


def _of_report(parser: argparse.ArgumentParser) -> None:
    what = "the job's number; without it, the history of the truck"
    parser.add_argument("what", nargs="?", default="", metavar="N", help=what)
    parser.add_argument("--html", action="store_true", help="one HTML file, with plots")
    parser.add_argument("--out", help="the file to write; without it, standard output")
    _which_truck(parser, "the truck whose history it is")


def _trip(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("trip", nargs="*", help="how far, e.g. 3000 km")
    parser.add_argument("--kg", type=float, help="the most that it may weigh")
    parser.add_argument("--money", type=float, help="the most that it may cost")
    stranded = "what being stranded costs, in money"
    parser.add_argument("--stranded", type=float, metavar="MONEY", help=stranded)
    _which_truck(parser, "the truck that goes")
    _json(parser)


def _sum_words(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="*", help="the sum, then its inputs name=value")
    parser.add_argument("-h", "--help", action="store_true", dest="explain")
    _json(parser)


def _ask(asked: argparse.Namespace) -> int:
    import gc

    gc.disable()  # one question and out: collecting costs a third of a bare start
    from bot.cli.ask import ask

    return ask(asked)


def _hear(asked: argparse.Namespace) -> int:
    from bot.cli.hear import hear

    return hear(asked)


def _talk(asked: argparse.Namespace) -> int:
    from bot.cli.talk import talk

    return talk(asked)


def _screen(asked: argparse.Namespace) -> int:
    from bot.cli.screen import screen

    return screen(asked)


def _card(asked: argparse.Namespace) -> int:
    from bot.cli.paper import card

    return card(asked)


def _paper(asked: argparse.Namespace) -> int:
    from bot.cli.paper import paper

    return paper(asked)


def _cards(asked: argparse.Namespace) -> int:
    from bot.cli.cards import cards

    return cards(asked)


def _new(asked: argparse.Namespace) -> int:
    from bot.cli.new import new

    return new(asked)


def _lint(asked: argparse.Namespace) -> int:
    from bot.cli.lint import lint

    return lint(asked)


def _jobs(asked: argparse.Namespace) -> int:
    from bot.cli.jobs import jobs

    return jobs(asked)


def _sum(asked: argparse.Namespace) -> int:
    from bot.cli.sums import sums

    return sums(asked)


def _truck(asked: argparse.Namespace) -> int:
    from bot.cli.truck import truck

    return truck(asked)


def _report(asked: argparse.Namespace) -> int:
    from bot.cli.report import report

    return report(asked)


def _club(asked: argparse.Namespace) -> int:
    from bot.cli.club import club

    return club(asked)


def _spares(asked: argparse.Namespace) -> int:
    from bot.cli.spares import spares

    return spares(asked)


if TYPE_CHECKING:
    _Fill = Callable[[argparse.ArgumentParser], None]
    _Run = Callable[[argparse.Namespace], int]

_COMMANDS: dict[str, tuple[str, _Fill, _Run]] = {
    "screen": ("the chat screen (what chock opens)", _screen_options, _screen),
    "talk": ("the same line by line, for any terminal", _which_job, _talk),
    "ask": (
        'rank the cards, e.g. chock ask "one hub hisses after I park"',
        _words,
        _ask,
    ),
    "hear": ('how words are read, e.g. chock hear "no, only damp"', _heard, _hear),
    "card": ("show a page, e.g. chock card wheel-valve-leaks", _card_id, _card),
    "print": ("pages for paper, e.g. chock print brakes --html", _to_print, _paper),
    "cards": ("list the cards and when their review is due", _json, _cards),
    "lint": ("check pages, stop rules and words", _paths, _lint),
    "new": ("begin a page, e.g. chock new fault my-page brakes", _new_page, _new),
    "truck": ("what is aboard, e.g. chock truck aboard hose", _truck_words, _truck),
    "report": ("a job, or a truck's history, on paper", _of_report, _report),
    "spares": ("what to carry, e.g. chock spares 3000 km --kg 60", _trip, _spares),
    "club": ("vet, sign and share pages, e.g. chock club take FILE", _of_club, _club),
    "sum": ("the trade's sums, e.g. chock sum leak-rate", _sum_words, _sum),
    "jobs": ("list the jobs, show one, check, mend, backup, forget", _of_jobs, _jobs),
}
