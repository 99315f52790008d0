"""What a growing pool costs: `python tools/clubgrowth.py [--json FILE] [--most N]`.

10,000, 100,000 and 1,000,000 outcomes, of up to 5,000 devices on 500 pages: seconds of
a refresh from nothing, of one after one device's file grew, of one where nothing did,
of one look-up of a page, and of the look whether anything came or went; each as a ratio
to a bare start of Python in the same run as well. Seeds are fixed. Informational.

With `--git` a club's whole repository instead, a page for each hundred outcomes:
seconds of the first share, of a clone, of a sync after one edit elsewhere, and of one
where nothing came.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import time
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.cards.template import fresh_card
from bot.club.outcomes import TRUCKS, Outcome, line
from bot.desk.exchange import clone, exchange
from bot.desk.gate import Checks
from bot.store.device import outcomes_file
from bot.store.git import Who
from bot.store.pool import Pool

if TYPE_CHECKING:
    from collections.abc import Callable

SIZES = (10_000, 100_000, 1_000_000)
LINES_A_DEVICE = 200
PAGES, CAUSES = 500, 9
STARTS, LOOKS = 9, 200


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--most", type=int, default=SIZES[-1])
    parser.add_argument("--git", action="store_true", help="a whole repository")
    parser.add_argument("--json")
    asked = parser.parse_args()
    bare = bare_start()
    figures: dict[str, dict[str, float]] = {}
    print(f"a bare start of Python: {bare:.4f} s")
    for size in SIZES:
        if size > asked.most:
            continue
        with tempfile.TemporaryDirectory() as folder:
            measure = exchanged if asked.git else measured
            found = measure(Path(folder), size)
        figures[f"{size:,} outcomes"] = found
        print(f"\n{size:,} outcomes")
        for name, figure in found.items():
            is_time = not name.startswith(("MB", "pages"))
            ratio = f"{figure / bare:12.4f} x a bare start" if is_time else ""
            print(f"  {name:34} {figure:10.5f}{' s' + ratio if is_time else ''}")
    if asked.json:
        told = {"bare start, s": bare, **figures}
        Path(asked.json).write_text(json.dumps(told, indent=1) + "\n")
    return 0


def bare_start() -> float:
    """Seconds of `python -c pass`, median."""
    return _median(
        lambda: subprocess.run([sys.executable, "-c", "pass"], check=True), STARTS
    )


def measured(folder: Path, size: int) -> dict[str, float]:
    """Seconds of each kind, and the megabytes of the cache."""
    kb, home = folder / "kb", folder / "home"
    devices = fill(kb, size)
    pool = Pool(kb, home)
    nothing = _seconds(pool.refresh)
    still = _median(pool.refresh, 5)
    grown = []
    for n, device in enumerate(devices[:5]):
        with outcomes_file(kb, device).open("a") as file:
            file.write(f"{said(Random(n), LINES_A_DEVICE + 1)}\n")
        before = time.perf_counter()
        assert pool.refresh().read == 1
        grown.append(time.perf_counter() - before)
    draw = Random(size)
    pages = iter([f"page-{draw.randrange(PAGES)}" for _ in range(LOOKS)])
    look = _median(lambda: pool.pool(next(pages)), LOOKS)
    return {
        "refresh from nothing": nothing,
        "refresh, one file grew": statistics.median(grown),
        "refresh, nothing changed": still,
        "look-up of one page": look,
        "look whether anything came": _median(pool.is_stale, LOOKS),
        "MB of the cache": pool.path.stat().st_size / 1e6,
        "MB of the devices' files": sum(
            outcomes_file(kb, device).stat().st_size for device in devices
        )
        / 1e6,
    }


OUTCOMES_A_PAGE = 100


def exchanged(folder: Path, size: int) -> dict[str, float]:
    """Seconds of exchanging a repository by git."""
    bare, kb = folder / "club.git", folder / "moss"
    subprocess.run(["git", "init", "-q", "--bare", str(bare)], check=True)
    many = size // OUTCOMES_A_PAGE
    for n in range(many):
        path = kb / "cards" / f"system-{n % 20}" / f"page-{n}.md"
        path.parent.mkdir(parents=True, exist_ok=True)
        text = fresh_card().replace("share: private", "share: club")
        path.write_text(text.replace("The complaint in one line", f"Complaint {n}"))
    fill(kb, size)
    moss, wren = Who("Moss", "1" * 32), Who("Wren", "2" * 32)
    first = _seconds(lambda: exchange(kb, str(bare), moss, Checks()))
    other = folder / "wren"
    cloned = _seconds(lambda: clone(str(bare), other))
    page = kb / "cards" / "system-0" / "page-0.md"
    page.write_text(page.read_text().replace("what is seen", "what Moss saw"))
    exchange(kb, str(bare), moss, Checks())
    return {
        "pages": many,
        "first share": first,
        "clone": cloned,
        "sync after one edit elsewhere": _seconds(
            lambda: exchange(other, str(bare), wren, Checks())
        ),
        "sync, nothing new": _seconds(
            lambda: exchange(other, str(bare), wren, Checks())
        ),
    }


def fill(kb: Path, size: int) -> list[str]:
    """Put outcomes into a knowledge base; the devices that shared them."""
    devices = [
        sha256(str(n).encode()).hexdigest()[:32] for n in range(size // LINES_A_DEVICE)
    ]
    for n, device in enumerate(devices):
        draw = Random(f"{size} {n}")
        path = outcomes_file(kb, device)
        path.parent.mkdir(parents=True, exist_ok=True)
        lines = (said(draw, k) for k in range(1, LINES_A_DEVICE + 1))
        path.write_text("".join(f"{text}\n" for text in lines))
    return devices


def said(draw: Random, number: int) -> str:
    """A line drawn by lot."""
    page = draw.randrange(PAGES)
    return line(
        Outcome(
            number,
            f"page-{page}",
            sha256(str(page).encode()).hexdigest()[:12],
            f"cause-of-page-{min(draw.randrange(CAUSES), draw.randrange(CAUSES))}",
            f"repair-of-page-{draw.randrange(CAUSES)}",
            draw.random() < 0.7,
            f"20{draw.randrange(24, 27)}-{draw.randrange(1, 13):02}",
            draw.choice(TRUCKS),
            tuple((k, draw.randrange(1, 5)) for k in range(1, draw.randrange(2, 7))),
        )
    )


def _seconds(work: Callable[[], object]) -> float:
    before = time.perf_counter()
    work()
    return time.perf_counter() - before


def _median(work: Callable[[], object], times: int) -> float:
    return statistics.median(_seconds(work) for _ in range(times))


if __name__ == "__main__":
    sys.exit(main())
