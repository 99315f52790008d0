"""The command `chock`: finds the command's own module, and turns refusals into exits."""

import sys


def run() -> None:
    """Entry point of the installed command."""
    sys.exit(main(sys.argv[1:]))


def main(words: list[str]) -> int:
    """Carry out one command line; the exit status comes back."""
    if words[:1] == ["lint"]:
        from bot.cli.lint import lint

        return lint(words[1:])
    print("chock: not yet", file=sys.stderr)
    return 2
