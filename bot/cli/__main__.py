"""`python -m bot.cli` does what `chock` does."""

from bot.cli.main import run

run()
