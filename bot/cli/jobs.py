"""`chock jobs`: all jobs in a line each, or one with its whole story."""

import json
import re
import sys
from argparse import Namespace
from pathlib import Path

from bot.job.events import WordsForgotten
from bot.job.job import NOT_KNOWN, Stage
from bot.model.place import BotError
from bot.store.backup import KEPT, back_up, restore
from bot.store.clock import now
from bot.store.folders import home_folder
from bot.store.journal import MOST_LISTED, Entry, Journal, looked_up
from bot.store.proof import prove
from bot.store.second import Listed
from bot.talk.outcome import PROBABLY, how_sure
from bot.talk.wording import span


def jobs(asked: Namespace) -> int:
    """List the jobs, newest first, show the one asked for, or look after them all."""
    journal = Journal(Path(home_folder(asked.home)))
    if asked.what in _CARE:
        return _CARE[asked.what](journal, asked)
    if asked.what:
        return _one(journal, asked)
    rows = journal.listed()
    _print_remarks(journal)
    if asked.json:
        whole = [entry for row in rows if (entry := journal.entry(row.number))]
        print(json.dumps({"jobs": [_row(entry) for entry in whole]}))
        return 0
    for row in rows:
        print(_line(row))
    if not rows:
        print("No jobs yet. Start one with chock, or chock talk.")
    if len(rows) == MOST_LISTED:
        print(f"These are the newest {MOST_LISTED}; 'chock jobs N' shows any.")
    return 0


def _one(journal: Journal, asked: Namespace) -> int:
    if not re.fullmatch("[0-9]{1,9}", asked.what):
        ways = ", ".join(_CARE)
        raise BotError(f"'{asked.what}' is no job; write its number, or one of {ways}")
    entry = journal.entry(int(asked.what))
    _print_remarks(journal)
    if entry is None:
        raise BotError(f"there is no job {asked.what}; 'chock jobs' lists them")
    print(json.dumps(_row(entry)) if asked.json else "\n".join(_story(entry)))
    return 0


def _check(journal: Journal, asked: Namespace) -> int:
    """Prove that every answer is in both copies, whole and chained."""
    proof = prove(journal.copies)
    wrong = [*journal.remarks, *proof.wrong]
    if asked.json:
        print(json.dumps({"jobs": proof.jobs, "lines": proof.lines, "wrong": wrong}))
        return 1 if wrong else 0
    for says in wrong:
        print(says)
    if proof.wrong:
        print("'chock jobs mend' puts right what either copy has right.")
    else:
        print(
            f"Jobs: {proof.jobs}, lines: {proof.lines}. Each is whole, chained, and "
            "in both copies."
        )
    return 1 if wrong else 0


def _mend(journal: Journal, asked: Namespace) -> int:
    """Put right what can be, and say what was done."""
    journal.mend()
    for says in journal.remarks:
        print(says)
    if not journal.remarks:
        print("There was nothing to mend.")
    return _check(Journal(journal.home), asked)


def _backup(journal: Journal, asked: Namespace) -> int:
    folder = Path(asked.where or journal.home / "backups").expanduser()
    path = back_up(journal.copies, folder, now())
    _print_remarks(journal)
    print(f"All jobs are in {path}. The newest {KEPT} backups of that folder stay.")
    return 0


def _restore(journal: Journal, asked: Namespace) -> int:
    if not asked.where:
        raise BotError("say which backup: chock jobs restore FILE")
    told = list(restore(journal.copies, Path(asked.where).expanduser()))
    journal.mend()
    for says in told:
        print(says)
    if not told:
        print("All jobs of the backup are here already.")
    return 0


def _words(journal: Journal, asked: Namespace) -> int:
    """The words that are kept to find pages by, of which job and for which page."""
    kept = journal.keeping()
    _print_remarks(journal)
    if asked.json:
        rows = [{"job": k.job, "page": k.card, "words": k.words} for k in kept]
        print(json.dumps({"kept": rows}))
        return 0
    for job in kept:
        print(f"{job.job:4}  {job.card}: {job.words}")
    if kept:
        print("'chock jobs forget N' takes those of a job out.")
    else:
        print("No words are kept. At the end of a job chock asks whether they may be.")
    return 0


def _forget(journal: Journal, asked: Namespace) -> int:
    """The words of a job find no page any longer."""
    if not re.fullmatch("[0-9]{1,9}", asked.where):
        raise BotError("say which job: chock jobs forget N")
    number = int(asked.where)
    entry = journal.entry(number)
    if entry is None:
        raise BotError(f"there is no job {number}; 'chock jobs' lists them")
    if not any(kept.job == number for kept in journal.keeping()):
        raise BotError(f"no words of job {number} are kept; see 'chock jobs words'")
    if not journal.take(number):
        raise BotError(f"job {number} is open in another window; close it there first")
    journal.record(number, entry.job, (WordsForgotten(),), now())
    journal.leave(number)
    _print_remarks(journal)
    print(f"The words of job {number} find no page any longer; the job stays.")
    return 0


_CARE = {
    "check": _check,
    "mend": _mend,
    "backup": _backup,
    "restore": _restore,
    "words": _words,
    "forget": _forget,
}


def _print_remarks(journal: Journal) -> None:
    for says in journal.remarks:
        print(says, file=sys.stderr)


def _line(row: Listed) -> str:
    card = row.card or "no card"
    return f"{row.number:4}  {row.opened[:10]}  {_state(row):8} {card}: {row.words:.60}"


def _state(row: Listed) -> str:
    if row.stage != Stage.CLOSED.value:
        return "open"
    if row.helped:
        return "help"
    if row.proved:
        return "proved"
    return "probable" if row.sure >= PROBABLY else "closed"


def _story(entry: Entry) -> list[str]:
    job = entry.job
    out = [f"Job {entry.number}, opened {entry.opened}, last answer {entry.last}"]
    listed, _ = looked_up(entry, 0)
    out.append(f"State: {_state(listed)} ({job.stage.value})")
    out += [f"Truck: {job.truck}"] if job.truck else []
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
        if job.keeps_words:
            out.append("Its words are kept, to find its page by")
        out.append(f"{span(job.outcome.minutes)}, money {job.outcome.money:g}")
    if not entry.whole:
        out.append("Some answers of this job are lost from the disk.")
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
        "state": _state(looked_up(entry, 0)[0]),
        "stage": job.stage.value,
        "truck": job.truck,
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
        "keeps_words": job.keeps_words,
        "whole": entry.whole,
    }
