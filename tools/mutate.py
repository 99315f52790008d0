"""Damage the knowledge base, and type what means harm; nothing may break or loosen.

    python tools/mutate.py kb [--seeds 2000] [--whole 20]
    python tools/mutate.py texts [--seeds 10000]

`kb` hurts a copy of the knowledge base by seed (`harm.py`) and runs the commands on it:
no trace, nothing that a terminal obeys, nobody waits, what was left out is said and is
in the exit status, and "no brakes" holds the truck whatever is broken. Most seeds hurt
a small copy; `--whole N` does as many on all pages. `texts` feeds hostile texts
(`hostile.py`) to every reader. Times are counted against the same work on what is
whole; memory is that of a process of its own. `--first SEED`, `--json FILE` as in
`soak`.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import stat
import sys
import tempfile
import unicodedata
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from harm import HARMS
from readers import Bench, read_one
from stage import Done, Ran, Stage, apart, commands

from bot.cli.main import Exit
from bot.desk.upkeep import read
from bot.store.pages import page, text_of
from bot.store.scan import EAR, RULES, SIDE, WORDS, least

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

MOST_OVER_S = 0.2
MOST_OVER_MB = 50
NOISE = 0.3
"""By so much of itself a time of seconds may differ for nothing, on a busy machine."""
BATCH = 100


def raw(text: str) -> set[str]:
    """The characters that a terminal would obey, or nobody would see."""
    bad = ("Cc", "Cf", "Cs", "Co", "Cn")
    return {c for c in text if c != "\n" and unicodedata.category(c) in bad}


# --- knowledge bases ------------------------------------------------------------------


def must_be_told(hurt: Path, kb: Path) -> bool:
    """Whether something of the knowledge base is left out for the sake of a file."""
    known = hurt.suffix == ".md" and hurt.parent != kb
    known |= hurt.name in (*WORDS, EAR) or hurt.name.endswith(SIDE)
    if not known:
        return False
    if not os.path.lexists(hurt):
        owed = hurt.name.removesuffix(".md") in least() and hurt.parent.name == RULES
        return owed or hurt.name in (*WORDS, EAR)
    try:
        if not stat.S_ISREG(hurt.stat().st_mode) or hurt.stat().st_size > 50_000_000:
            return True
    except OSError:
        return True
    found = page(hurt)
    text = text_of(found)
    if not isinstance(text, str):
        return True
    held = read(text, found)
    return type(held) is tuple


def is_slow(ran: Ran, usual: Mapping[str, float]) -> bool:
    """Whether a command took far longer than where nothing is wrong."""
    whole = usual.get(ran.name, 0.0)
    by = max(MOST_OVER_S, NOISE * whole)
    return ran.name != "lint" and ran.took_s - whole > by


def judged(
    ran: Sequence[Ran], told: Sequence[str], usual: Mapping[str, float]
) -> Counter[str]:
    """What went wrong, by kind."""
    wrong: Counter[str] = Counter()
    for each in ran:
        wrong["traces"] += each.status == -1 or "Traceback" in each.err
        wrong["raw"] += bool(raw(each.out + each.err))
        wrong["odd status"] += each.status not in (*Exit, -1)
        wrong["slow"] += is_slow(each, usual)
    asked = {each.name: each for each in ran}
    said = asked["ask"].err
    wrong["silent"] += any(name not in said for name in told)
    wrong["status hides it"] += bool(told) and asked["ask"].status != Exit.NOT_WHOLE
    held = "do not move" in asked["talk"].out.lower()
    for name in ("ask", "json", "talk"):
        shown = asked[name].out
        wrong["looser"] += ("STOP" not in shown and '"sure": true' not in shown) or (
            name == "talk" and not held
        )
    return wrong


def one_kb(seed: int, stage: Stage) -> tuple[str, Counter[str], dict[str, float]]:
    """One seed: what was done, what went wrong, and the costs."""
    lots = random.Random(seed)
    stage.lay_out(seed)
    hurt: list[Path] = []
    names: list[str] = []
    for _ in range(lots.choice((1, 1, 1, 2, 4))):
        path, harm = stage.target(lots), lots.choice(HARMS)
        if path.is_file() and not path.is_symlink() and path not in hurt:
            harm(path, lots)
            hurt.append(path)
            names.append(f"{harm.__name__} {path.relative_to(stage.kb)}")

    def work() -> object:
        ran = commands(stage.kb, stage.home, hurt[0], seed)
        told = [path.stem for path in hurt if must_be_told(path, stage.kb)]
        return [ran, told]

    done = apart(work)
    names_ = ", ".join(names)
    if not isinstance(done.told, list):
        return names_, Counter({"hangs or killed": 1}), {}
    ran, told = [Ran._make(row) for row in done.told[0]], done.told[1]
    kind = "words" if any(p.name in (*WORDS, EAR) for p in hurt) else "page"
    usual = stage.usual(kind if seed % 10 else "cold")
    wrong = judged(ran, told, usual)
    wrong["heavy"] += done.over_mb > MOST_OVER_MB and kind == "page" and seed % 10 > 0
    costs = {
        f"{r.name} over by ms": 1000 * (r.took_s - usual[r.name])
        for r in ran
        if r.name in usual and r.name != "lint"
    }
    costs["most times as long"] = max(
        (r.took_s / usual[r.name] for r in ran if usual.get(r.name, 0) > 0.02),
        default=0,
    )
    costs["MB over"] = done.over_mb
    if any(wrong.values()):
        for each in ran:
            if "Traceback" in each.err:
                print(each.err[-1500:], file=sys.stderr)
    return names_, wrong, costs


class Sums:
    """What went wrong how often, and the worst costs with their seeds."""

    def __init__(self) -> None:
        self.wrong: Counter[str] = Counter()
        self.worst: dict[str, tuple[float, int]] = {}

    def cost(self, name: str, cost: float, seed: int) -> None:
        """Keep the cost if it is the worst."""
        self.worst[name] = max(self.worst.get(name, (0.0, 0)), (cost, seed))

    def table(self, seeds: int, kinds: Sequence[str]) -> dict[str, object]:
        """All of it, in the order of the kinds."""
        said = {
            k: f"{cost:.1f} (seed {seed})" for k, (cost, seed) in self.worst.items()
        }
        return {"seeds": seeds, **{kind: self.wrong[kind] for kind in kinds}, **said}


OF_KB = (
    *("traces", "raw", "looser", "silent", "status hides it", "odd status"),
    *("hangs or killed", "slow", "heavy", "seeds gone wrong"),
)


def of_kb(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """All seeds on knowledge bases."""
    sums = Sums()
    for name, seeds in (("small", asked.seeds), ("whole", asked.whole)):
        if seeds:
            place = folder / name
            place.mkdir()
            stage = Stage(place, Path(asked.kb), small=name == "small")
            for seed in range(asked.first, asked.first + seeds):
                _add_kb(seed, stage, sums)
    return sums.table(asked.seeds + asked.whole, OF_KB)


def _add_kb(seed: int, stage: Stage, sums: Sums) -> None:
    names, wrong, costs = one_kb(seed, stage)
    bad = [kind for kind, number in wrong.items() if number]
    sums.wrong.update(bad)
    sums.wrong["seeds gone wrong"] += bool(bad)
    if bad:
        print(f"seed {seed}: {names}: {', '.join(bad)}", file=sys.stderr)
    for name, cost in costs.items():
        sums.cost(name, cost, seed)


# --- texts ----------------------------------------------------------------------------


Row = tuple[int, str, str, float]
"""A seed, the reader's name, what went wrong, the time."""


def of_texts(asked: argparse.Namespace, folder: Path) -> dict[str, object]:
    """All seeds on readers, a batch to a process."""
    stage = Stage(folder, Path(asked.kb), small=True)
    stage.lay_out(1)
    held: list[Bench] = []

    def ready() -> None:
        held.append(Bench(stage.kb, stage.home))

    def texts(seeds: Sequence[int]) -> Done:
        return apart(lambda: [read_one(seed, held[0]) for seed in seeds], ready)

    sums, names = Sums(), Counter[str]()
    for first in range(asked.first, asked.first + asked.seeds, BATCH):
        batch = range(first, min(first + BATCH, asked.first + asked.seeds))
        for seed, name, wrong, took_s in _rows(batch, texts, sums):
            names[f"  {name}"] += 1
            sums.wrong["traces"] += bool(wrong)
            sums.wrong["slow"] += took_s > MOST_OVER_S
            sums.cost(f"{name} ms", 1000 * took_s, seed)
            if wrong or took_s > MOST_OVER_S:
                print(f"seed {seed}: {name}: {took_s:.2f} s {wrong}", file=sys.stderr)
    kinds = ("traces", "hangs or killed", "slow", "heavy")
    return {**sums.table(asked.seeds, kinds), **names}


def _rows(
    seeds: Sequence[int], texts: Callable[[Sequence[int]], Done], sums: Sums
) -> list[Row]:
    """What came of some seeds; one by one where together they broke or took much."""
    done = texts(seeds)
    if isinstance(done.told, list) and done.over_mb <= MOST_OVER_MB:
        sums.cost("MB over", done.over_mb, seeds[0])
        return done.told
    if len(seeds) > 1:
        return [row for seed in seeds for row in _rows([seed], texts, sums)]
    kind = "heavy" if isinstance(done.told, list) else "hangs or killed"
    sums.wrong[kind] += 1
    sums.cost("MB over", done.over_mb, seeds[0])
    print(f"seed {seeds[0]}: {kind}, {done.over_mb:.0f} MB", file=sys.stderr)
    return done.told if isinstance(done.told, list) else []


WHAT = {"kb": of_kb, "texts": of_texts}


def main_() -> int:
    """Run what is asked for; 1 if anything went wrong."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", choices=sorted(WHAT))
    parser.add_argument("--seeds", type=int, default=2_000)
    parser.add_argument("--whole", type=int, default=0)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--kb", default=str(ROOT / "kb"))
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        found = WHAT[asked.what](asked, Path(folder))
    for name, value in found.items():
        print(f"{name:44} {value}")
    if asked.json:
        asked.json.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    bad = ("traces", "raw", "looser", "silent", "status hides it", "hangs or killed")
    return 1 if any(found.get(name) for name in bad) else 0


if __name__ == "__main__":
    sys.exit(main_())
