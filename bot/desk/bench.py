"""The open jobs as one who comes back wants them: may it move, and what waits."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bot.store.journal import JournalError
from bot.talk.library import look
from bot.talk.reading import minutes_left

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bot.desk.library import KbLibrary
    from bot.store.journal import Journal
    from bot.store.second import Listed

MOST = 5
"""Jobs that are opened to be told; more are listed without verdict. Our choice."""


class OpenJob(NamedTuple):
    """A job that is not closed.

    `about` is its page, or its first words; `verdict` "" while nothing is known of the
    fault; `seconds` until its reading is due, None when nothing is waited for.
    """

    number: int
    opened: str
    about: str
    stage: str
    verdict: str = ""
    seconds: float | None = None


def open_jobs(journal: Journal, library: KbLibrary) -> tuple[OpenJob, ...]:
    """The open jobs, the newest first, of the first few how they stand."""
    titles = library.titles()

    def about(row: Listed) -> str:
        title = titles.get(row.card, ("", ""))[0]
        return title or row.words[:MOST_LETTERS] or "no words yet"

    rows = journal.listed(only_open=True)
    plain = (OpenJob(r.number, r.opened, about(r), r.stage) for r in rows)
    return tuple(_with_verdicts(plain, journal, library))


MOST_LETTERS = 60


def _with_verdicts(
    rows: Iterator[OpenJob], journal: Journal, library: KbLibrary
) -> Iterator[OpenJob]:
    for nth, row in enumerate(rows):
        try:
            entry = journal.entry(row.number) if nth < MOST else None
        except JournalError:  # `chock jobs` names what is wrong with it
            entry = None
        if entry is None:
            yield row
            continue
        view = look(entry.job, library)
        check = view.check
        taken = view.job.taken(check.id) if check else ()
        left = minutes_left(check, taken, library) if check else None
        yield row._replace(
            verdict=view.drive.value if view.is_known else "",
            seconds=None if left is None else 60 * left,
        )
