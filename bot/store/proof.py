"""Whether every answer is in both copies, whole and chained: one command proves it."""

from collections.abc import Iterator
from typing import NamedTuple

from bot.store.copies import Copies
from bot.store.errors import JournalError
from bot.store.mending import wrongs
from bot.store.second import Second


class Proof(NamedTuple):
    """So many jobs and answers are proved; what is wrong, a sentence each."""

    jobs: int
    lines: int
    wrong: tuple[str, ...]


def prove(copies: Copies) -> Proof:
    """Read every line of both copies; nothing is changed."""
    jobs = lines = 0
    wrong: list[str] = list(_of_second(copies))
    for number in copies.numbers():
        try:
            found = copies.look_at(number)
        except JournalError as error:
            wrong.append(f"Job {number}: {error}.")
            continue
        if found and found.lines:
            jobs, lines = jobs + 1, lines + len(found.lines)
            wrong += (f"{what}." for what, _ in wrongs(number, found))
    return Proof(jobs, lines, tuple(wrong))


def _of_second(copies: Copies) -> Iterator[str]:
    if copies.second is None:
        yield "There is no second copy of the jobs."
        return
    nothing: tuple[str, ...] = ()
    found = copies.ask(lambda second: tuple(Second.wrongs(second)), nothing)
    yield from (f"{what}." for what in found)
