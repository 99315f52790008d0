"""Break the store of the jobs in every way and count what was lost: nothing must be.

    python tools/soak.py faults [--seeds 10000] [--at-once 1]
    python tools/soak.py flips [--times 10000]      one bit of one file
    python tools/soak.py cuts [--times 500]         one file cut anywhere, or gone
    python tools/soak.py windows [--answers 2500]   two processes, other and same job
    python tools/soak.py cost                       an answer against a bare synced line
    python tools/soak.py many [--jobs 100000]       start, ask, jobs against 100 jobs

`--first SEED` begins with another seed, `--json FILE` keeps the figures. Whole jobs are
those of tests/stories, talked through once on the real pages; their answers are then
saved again under each fault. What was said back must be there afterwards, the verdict
no looser, what happened told in a sentence, and no trace seen.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from faults import FAULTS, NOW, Group, Run, cut, flip, lose, next_answer, scripts

from bot.desk.lessons import learn
from bot.desk.library import KbLibrary
from bot.desk.shelf import open_index
from bot.job import events as e
from bot.job.job import Job
from bot.job.saved import pack
from bot.model.card import Drive
from bot.store.chain import DIGEST, Line, write_head, write_line
from bot.store.copies import SECOND
from bot.store.journal import Journal
from bot.store.proof import prove
from bot.talk.library import look

if TYPE_CHECKING:
    from collections.abc import Callable

ORDER = list(Drive)


class Broken(NamedTuple):
    """What a seed came to: answers lost, verdicts loosened, faults nobody told of."""

    lost: int = 0
    looser: int = 0
    silent: int = 0
    traces: int = 0


def main() -> int:
    """Run what is asked for; 1 if anything was lost, loosened, silent or a trace."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", choices=sorted(WHAT))
    parser.add_argument("--seeds", type=int, default=10_000)
    parser.add_argument("--times", type=int, default=0)
    parser.add_argument("--answers", type=int, default=2_500)
    parser.add_argument("--jobs", type=int, default=100_000)
    parser.add_argument("--at-once", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--kb", default=str(ROOT / "kb"))
    parser.add_argument("--index", help="a folder with an index that is made already")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if asked.index:
            shutil.copytree(asked.index, folder, dirs_exist_ok=True)
        found = WHAT[asked.what](asked, Path(folder))
    for name, value in found.items():
        print(f"{name:44} {value}")
    if asked.json:
        asked.json.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    bad = ("lost", "looser", "silent", "traces", "merged", "not whole")
    return 1 if any(found.get(name) for name in bad) else 0


def one_seed(
    seed: int, folder: Path, told: list[list[Group]], library: KbLibrary, at_once: int
) -> tuple[str, Broken]:
    """Save a whole job under some faults; what they were, and what they cost."""
    lots = random.Random(seed)
    home = folder / f"seed-{seed}"
    run = Run(home, list(lots.choice(told)), lots)
    wanted = [lots.choice(FAULTS) for _ in range(at_once)]
    names = "+".join(fault.__name__ for fault in wanted)
    try:
        for fault in wanted:
            for _ in range(lots.randrange(1, 6)):
                next_answer(run)
            if lots.random() < 0.5 and (home / "jobs-2.db").exists():
                shutil.copyfile(home / "jobs-2.db", home / "kept.db")
            if run.files():
                fault(run)
            if lots.random() < 0.5:
                next_answer(run)
        run.reopen()
        while run.script:
            next_answer(run)
        return names, _judged(run, library)
    except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
        traceback.print_exc()
        return names, Broken(traces=1)
    finally:
        run.journal.close()
        shutil.rmtree(home, ignore_errors=True)


def _judged(run: Run, library: KbLibrary) -> Broken:
    """Whether all that was said back is there, and the verdict is no looser."""
    wanted = look(run.job, library).ledger.drive
    run.reopen()
    seen = look(run.job, library).ledger.drive
    looser = int(ORDER.index(seen) > ORDER.index(wanted))
    run.journal.mend()
    whole = not prove(run.journal.copies).wrong
    lost = bool(run.lost)  # with both copies gone nothing is left to be made whole by
    silent = not run.told if lost else not whole
    return Broken(int(lost), looser, int(silent))


def faults(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """Seeds of so many faults at once."""
    told = scripts(asked.kb, folder)
    library = KbLibrary(asked.kb, str(folder), Journal(folder / "none"))
    total: Counter[str] = Counter()
    by_kind: Counter[str] = Counter()
    for seed in range(asked.first, asked.first + asked.seeds):
        names, broken = one_seed(seed, folder, told, library, asked.at_once)
        by_kind[names] += 1
        for name, value in broken._asdict().items():
            total[name] += value
            if value:
                print(f"seed {seed}: {names}: {name}", file=sys.stderr)
    kinds = {f"  {name}": n for name, n in by_kind.most_common(12)}
    costs = {name: total[name] for name in Broken._fields}
    return {"seeds": asked.seeds, "faults at once": asked.at_once, **costs, **kinds}


# --- the store by itself --------------------------------------------------------------


def _store(home: Path, told: list[list[Group]]) -> list[Job]:
    """A store of some whole jobs; what they came to."""
    journal = Journal(home)
    jobs = []
    for script in told:
        job, number = Job(), journal.open_job(NOW)
        for group in script:
            job = journal.record(number, job, group, NOW)
        jobs.append(job)
    journal.close()
    return jobs


def _damaged(
    asked: argparse.Namespace, folder: Path, times: int, hurt: Callable[[Run], None]
) -> dict[str, object]:
    """Hurt one file so many times; each time all must be there, or be named."""
    told = scripts(asked.kb, folder)[:6]
    whole = folder / "whole"
    jobs = _store(whole, told)
    total: Counter[str] = Counter()
    for nth in range(asked.first, asked.first + times):
        home = folder / "hurt"
        shutil.copytree(whole, home)
        run = Run(home, [], random.Random(nth))
        run.journal.close()
        hurt(run)
        try:
            total.update(_looked_over(home, jobs))
        except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
            traceback.print_exc()
            print(f"time {nth}", file=sys.stderr)
            total["traces"] += 1
        shutil.rmtree(home)
    names = ("lost", "silent", "traces", "not whole", "told of")
    return {"times": times, **{name: total[name] for name in names}}


def _looked_over(home: Path, jobs: list[Job]) -> Counter[str]:
    """What a hurt store says of its jobs, and whether it is whole once mended."""
    said: Counter[str] = Counter()
    journal = Journal(home)
    journal.listed()
    for number, job in enumerate(jobs, 1):
        entry = journal.entry(number)
        if entry is None or entry.job != job:
            said["lost"] += 1
            said["silent"] += not journal.remarks
    said["told of"] += bool(journal.remarks)
    journal.mend()
    said["not whole"] += bool(prove(journal.copies).wrong)
    journal.close()
    return said


def flips(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """One bit of one file at a time."""
    return _damaged(asked, folder, asked.times or 10_000, flip)


def cuts(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """One file cut anywhere; every tenth time gone altogether."""

    def hurt(run: Run) -> None:
        (lose if run.lots.random() < 0.1 else cut)(run)

    return _damaged(asked, folder, asked.times or 500, hurt)


WINDOW = """
import sys
from pathlib import Path
from bot.job import events as e
from bot.job.job import Job
from bot.store.journal import Journal, MovedOn
journal, job = Journal(Path(sys.argv[1])), Job()
number, name, answers = int(sys.argv[2]), sys.argv[3], int(sys.argv[4])
number = number or journal.open_job("-")
for n in range(answers):
    while True:
        try:
            words = e.Described(f"{name}{n}", (), 1.0)
            job = journal.record(number, job, (words,), "-")
            break
        except MovedOn:
            entry = journal.entry(number)
            job = entry.job if entry else Job()
    if len(job.words) > 40 and sys.argv[2] == "0":
        number, job = journal.open_job("-"), Job()
print(number)
"""


ROUND = 250
"""So many answers each of two windows gives in one job, before it is the next job's
turn: each reads the job anew whenever the other wrote."""


def windows(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """Two processes that save at once, in jobs of their own and in one job."""
    own, shared = folder / "own", folder / "shared"
    lost, merged = _two_at_once(own, 0, asked.answers)
    journal = Journal(shared)
    rounds = max(1, asked.answers // ROUND)
    for _ in range(rounds):
        lost += _two_at_once(shared, journal.open_job("-"), ROUND)[0]
    return {
        "answers in jobs of their own": 2 * asked.answers,
        "answers in the same job": 2 * rounds * ROUND,
        "lost": lost,
        "merged": merged,
        "not whole": sum(bool(prove(Journal(h).copies).wrong) for h in (own, shared)),
    }


def _two_at_once(home: Path, number: int, answers: int) -> tuple[int, int]:
    """Answers lost of two processes, and jobs that hold answers of both by mistake."""
    command = [sys.executable, "-c", WINDOW, str(home), str(number)]
    runs = [
        subprocess.Popen([*command, n, str(answers)], cwd=ROOT, stdout=subprocess.PIPE)
        for n in "ab"
    ]
    codes = [run.wait() for run in runs]
    journal, words, merged = Journal(home), Counter[str](), 0
    for each in [number] if number else journal.copies.numbers():
        entry = journal.entry(each)
        said = entry.job.words if entry else ()
        words.update(said)
        merged += not number and len({word[0] for word in said}) > 1
    journal.close()
    once = sum(words[f"{n}{k}"] == 1 for n in "ab" for k in range(answers))
    return sum(codes) + 2 * answers - once, merged


def cost(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """What an answer costs, against a bare line added and synced."""
    del asked
    journal = Journal(folder / "store")
    job, number = Job(), journal.open_job(NOW)
    line = b"x" * 200 + b"\n"
    ratios = []
    bare_file = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    for nth in range(200):
        start = time.perf_counter()
        os.write(bare_file, line)
        os.fsync(bare_file)
        between = time.perf_counter()
        words = e.Described(f"word {nth}", (), 1.0)
        job = journal.record(number, job, (words,), NOW)
        ratios.append((time.perf_counter() - between) / (between - start))
    return {"an answer costs so many synced lines": round(median(ratios), 1)}


def many(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """How much slower so many jobs make a start than a hundred do."""
    found: dict[str, object] = {"jobs": asked.jobs}
    times: dict[int, dict[str, float]] = {}
    for jobs in (100, asked.jobs):
        home = folder / str(jobs)
        _fill(home, jobs)
        times[jobs] = {
            name: _best_of(["--home", str(home), "--kb", asked.kb, *words])
            for name, words in (
                ("ask", ["ask", "one hub hisses after I park"]),
                ("jobs", ["jobs"]),
                ("talk", ["talk"]),
            )
        }
    for name, time_ in times[asked.jobs].items():
        found[f"{name}: times slower than with 100"] = round(
            time_ / times[100][name], 2
        )
    found["ask, the first after a job was closed: of the next"] = round(
        _after_closing(folder / str(asked.jobs), asked.kb), 2
    )
    return found


ROUNDS = 15


def _after_closing(home: Path, kb: str) -> float:
    """How long the first question takes after a job was closed, of the one behind."""
    took: dict[int, list[float]] = {0: [], 1: []}
    ask = ["--home", str(home), "--kb", kb, "ask", "one hub hisses after I park"]
    index = open_index(kb, str(home))
    learn(index, str(home / SECOND), sys.maxsize)
    index.close()
    for _ in range(ROUNDS):
        journal = Journal(home)
        library = KbLibrary(kb, str(home), journal)
        number = journal.open_job(NOW)
        journal.record(number, Job(), _ENDED, NOW)
        library.learn()
        journal.close()
        for times in took.values():
            times.append(_took(ask))
    return median(took[0]) / median(took[1])


_ENDED = (
    e.Described("it hisses at the hub", (("wheel-valve-leaks", 0.9),), 0.1),
    e.CardChosen("wheel-valve-leaks"),
    e.HelpCalled(),
    e.CauseNamed("dirt-on-the-wheel-valve-seat"),
    e.Recorded("dirt-on-the-wheel-valve-seat", "", True, False, 1.0, 0.0),
)


def _fill(home: Path, jobs: int) -> None:
    """A store of closed jobs, written as files and taken in at the next start."""
    (home / "jobs").mkdir(parents=True)
    for number in range(1, jobs + 1):
        texts = [write_head(number, NOW, f"{number:016x}")]
        for seq, event in enumerate(_ENDED, 1):
            kind, said = pack(event)
            line = Line(seq, True, NOW, kind, json.dumps(said, sort_keys=True))
            texts.append(write_line(texts[-1][-DIGEST:], line))
        text = "".join(f"{each}\n" for each in texts)
        (home / "jobs" / f"{number}.txt").write_text(text, encoding="ascii")
    Journal(home).close()


def _best_of(words: list[str], times: int = 5) -> float:
    return min([_took(words) for _ in range(times + 1)][1:])


def _took(words: list[str]) -> float:
    """How long a command takes, in seconds."""
    code = "from bot.cli.main import run; run()"
    command = [sys.executable, "-c", code, *words]
    start = time.perf_counter()
    subprocess.run(command, cwd=ROOT, input=b"", capture_output=True, check=False)
    return time.perf_counter() - start


WHAT: dict[str, Callable[[argparse.Namespace, Path], dict[str, object]]] = {
    "faults": faults,
    "flips": flips,
    "cuts": cuts,
    "windows": windows,
    "cost": cost,
    "many": many,
}

if __name__ == "__main__":
    sys.exit(main())
