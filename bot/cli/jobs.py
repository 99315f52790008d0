"""`chock jobs`: all jobs in a line each, or one with its whole story."""

import json
from argparse import Namespace
from pathlib import Path

from bot.desk.asking import JOURNAL
from bot.job.job import NOT_KNOWN, Job, Stage
from bot.model.place import BotError
from bot.store.folders import home_folder
from bot.store.journal import Entry, Journal
from bot.talk.outcome import PROBABLY, how_sure
from bot.talk.wording import span


def jobs(asked: Namespace) -> int:
    """List the jobs, newest first, or show the one asked for."""
    journal = Journal(Path(home_folder(asked.home), JOURNAL))
    if asked.number is not None:
        entry = journal.entry(asked.number)
        if entry is None:
            raise BotError(f"there is no job {asked.number}; 'chock jobs' lists them")
        print(json.dumps(_row(entry)) if asked.json else "\n".join(_story(entry)))
        return 0
    entries = journal.entries()
    if asked.json:
        print(json.dumps({"jobs": [_row(entry) for entry in entries]}))
        return 0
    for entry in entries:
        print(_line(entry))
    if not entries:
        print("No jobs yet. Start one with chock, or chock talk.")
    return 0


def _line(entry: Entry) -> str:
    words = entry.job.words[0] if entry.job.words else ""
    card = entry.job.card or "no card"
    state = _state(entry.job)
    return f"{entry.number:4}  {entry.opened[:10]}  {state:8} {card}: {words:.60}"


def _state(job: Job) -> str:
    if job.stage is not Stage.CLOSED or job.outcome is None:
        return "open"
    if job.outcome.helped:
        return "help"
    if job.outcome.proved:
        return "proved"
    return "probable" if job.outcome.sure >= PROBABLY else "closed"


def _story(entry: Entry) -> list[str]:
    job = entry.job
    out = [f"Job {entry.number}, opened {entry.opened}, last answer {entry.last}"]
    out.append(f"State: {_state(job)} ({job.stage.value})")
    out += [f"Said: {words}" for words in job.words]
    out.append(f"Card: {job.card or 'none'}")
    out += [f"Stop rule: {rule}" for rule in job.stops]
    out += [f"Found: {a.card}: {a.check}: {a.answer}" for a in job.answers]
    out += [f"Passed over: {s.step} ({s.why.value})" for s in job.skipped]
    out += [f"Repair that did not cure: {tried.repair}" for tried in job.failed]
    if job.repair:
        out.append(f"Repair: {job.repair}, clean cycles: {job.clean}")
    if job.outcome:
        out.append(f"Cause: {_cause(job.outcome.cause)}")
        if job.outcome.repair:
            out.append(f"Cure: {how_sure(job.outcome)}")
        out.append(f"{span(job.outcome.minutes)}, money {job.outcome.money:g}")
    if not entry.whole:
        out.append("The last part of this job's journal is damaged and left out.")
    return out


def _cause(cause: str) -> str:
    return (
        "not known yet" if cause == NOT_KNOWN else cause or "none that the card names"
    )


def _row(entry: Entry) -> dict[str, object]:
    job = entry.job
    outcome = job.outcome
    return {
        "number": entry.number,
        "opened": entry.opened,
        "last": entry.last,
        "state": _state(job),
        "stage": job.stage.value,
        "words": list(job.words),
        "card": job.card,
        "stops": list(job.stops),
        "answers": [
            {"card": a.card, "check": a.check, "answer": a.answer} for a in job.answers
        ],
        "failed": [tried.repair for tried in job.failed],
        "repair": job.repair,
        "clean": job.clean,
        "cause": outcome.cause if outcome else None,
        "proved": outcome.proved if outcome else None,
        "sure": outcome.sure if outcome else None,
        "minutes": outcome.minutes if outcome else None,
        "money": outcome.money if outcome else None,
        "whole": entry.whole,
    }
