"""The command `chock`: reads the command line, runs the command, gives its exit."""

from __future__ import annotations

import argparse
import os
import sys
from enum import IntEnum


class Exit(IntEnum):
    """Exit statuses."""

    OK = 0
    FAILED = 1
    USAGE = 2


def run() -> None:
    """Entry point of the installed command."""
    sys.exit(main(sys.argv[1:]))


def main(words: list[str]) -> int:
    """Carry out one command line; the exit status comes back."""
    _speak_plainly()
    asked = _parser().parse_args(words)
    try:
        return int(_COMMANDS[asked.command or "screen"](asked))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.FAILED
    except Exception as error:
        from bot.model import BotError

        if isinstance(error, BotError):
            print(f"chock: {error}", file=sys.stderr)
            return Exit.FAILED
        raise


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


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="chock",
        description="Say what is wrong with the truck; chock helps to find and mend "
        "it. Without a command it opens the chat screen.",
    )
    _folders(parser, None)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", prog="chock")

    def command(name: str, text: str) -> argparse.ArgumentParser:
        added = commands.add_parser(name, help=text, description=text)
        _folders(added, argparse.SUPPRESS)
        return added

    talk = command("talk", "the same conversation line by line, for any terminal")
    _which_job(talk)
    ask = command("ask", 'rank the cards once, e.g. chock ask "hissing at one wheel"')
    ask.add_argument("words", nargs="*", help="what is wrong; - reads standard input")
    ask.add_argument("--top", type=int, default=3, help="how many cards (default 3)")
    _json(ask)
    card = command("card", "show one card, e.g. chock card wheel-valve-leaks")
    card.add_argument("id")
    _json(card)
    _json(command("cards", "list the cards and when their review is due"))
    lint = command("lint", "check cards, stop rules and thesaurus")
    lint.add_argument("paths", nargs="*", help="a knowledge base, or pages in one")
    _json(lint)
    new = command("new", "print a fresh card from the template, e.g. chock new my-card")
    new.add_argument("id")
    jobs = command("jobs", "list the jobs, or show one, e.g. chock jobs 3")
    jobs.add_argument("number", nargs="?", type=int)
    _json(jobs)
    _which_job(command("screen", "the chat screen (what chock alone opens)"))
    return parser


def _folders(parser: argparse.ArgumentParser, default: str | None) -> None:
    parser.add_argument("--kb", default=default, metavar="DIR", help="knowledge base")
    parser.add_argument("--home", default=default, metavar="DIR", help="your own store")


def _which_job(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--new", action="store_true", help="start a new job")
    parser.add_argument("--job", type=int, help="go on with the job of that number")


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def _ask(asked: argparse.Namespace) -> int:
    from bot.cli.ask import ask

    return ask(asked)


def _talk(asked: argparse.Namespace) -> int:
    from bot.cli.talk import talk

    return talk(asked)


def _screen(asked: argparse.Namespace) -> int:
    from bot.cli.screen import screen

    return screen(asked)


def _card(asked: argparse.Namespace) -> int:
    from bot.cli.cards import card

    return card(asked)


def _cards(asked: argparse.Namespace) -> int:
    from bot.cli.cards import cards

    return cards(asked)


def _new(asked: argparse.Namespace) -> int:
    from bot.cli.cards import new

    return new(asked)


def _lint(asked: argparse.Namespace) -> int:
    from bot.cli.lint import lint

    return lint(asked)


def _jobs(asked: argparse.Namespace) -> int:
    from bot.cli.jobs import jobs

    return jobs(asked)


_COMMANDS = {
    "screen": _screen,
    "talk": _talk,
    "ask": _ask,
    "card": _card,
    "cards": _cards,
    "lint": _lint,
    "new": _new,
    "jobs": _jobs,
}
