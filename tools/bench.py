"""What chock costs, as ratios to a bare start of Python in the same run.

    python tools/bench.py [--runs N] [--json FILE]

Processor time of whole commands, median of N runs taken in turns, divided by the median
of `python -c pass` in the same turns. The index exists before the first measured run.
"""

import argparse
import json
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WORDS = "the back left one keeps hissing after I park it up and it is soft by morning"
MISSPELT = "the bak left one keps hising aftr I prk it up and its soft by mornin"
LIMITS = {"ask": 6.0}
"""What the project promises, as ratios."""


def main() -> int:
    """Measure and print; 1 when a promise is not kept."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--runs", type=int, default=21)
    parser.add_argument("--json")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as home:
        ratios, rebuilt = measured(Path(home), asked.runs)
    for name, ratio in ratios.items():
        limit = f"   at most {LIMITS[name]:g}" if name in LIMITS else ""
        print(f"{name:32} {ratio:6.2f} x python -c pass{limit}")
    print(f"cards read again after one changed   {rebuilt}")
    if asked.json:
        figures = {"ratios": ratios, "cards_read_again": rebuilt}
        Path(asked.json).write_text(json.dumps(figures, indent=1) + "\n")
    late = [name for name, limit in LIMITS.items() if ratios[name] > limit]
    return 1 if late or rebuilt != 1 else 0


def measured(home: Path, runs: int) -> tuple[dict[str, float], int]:
    """The ratios by command, and how many cards one change made it read again."""
    kb = home / "kb"
    shutil.copytree(ROOT / "kb", kb)
    env = {**os.environ, "CHOCK_HOME": str(home / "store"), "CHOCK_KB": str(kb)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # people keep their byte code; so do we
    chock = str(Path(sys.executable).parent / "chock")
    commands = {
        "bare": [sys.executable, "-c", "pass"],
        "ask": [chock, "ask", WORDS],
        "ask, misspelt": [chock, "ask", MISSPELT],
        "ask --json": [chock, "ask", "--json", WORDS],
        "talk, to the first question": [chock, "talk", "--new"],
        "lint kb": [chock, "lint", str(kb)],
    }
    first = _run(commands["ask"], env)
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(runs):
        for name, command in commands.items():
            times[name].append(_run(command, env))
    bare = statistics.median(times.pop("bare"))
    ratios = {name: statistics.median(taken) / bare for name, taken in times.items()}
    ratios["ask, when the index is missing"] = first / bare
    return ratios, _read_again(kb, home / "store")


def _run(command: list[str], env: dict[str, str]) -> float:
    """Run a command; the seconds of the processor that it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        command,
        env=env,
        check=False,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _read_again(kb: Path, home: Path) -> int:
    """Change one card, touch another, and count what the index reads anew."""
    from bot.desk import upkeep
    from bot.desk.shelf import open_index

    read = upkeep.read
    count = 0

    def counted(*given: object) -> object:
        nonlocal count
        count += 1
        return read(*given)  # type: ignore[arg-type]

    upkeep.read = counted  # type: ignore[assignment]
    changed, touched = sorted(kb.glob("cards/*/*.md"))[:2]
    text = changed.read_text().replace("check-by: 2028", "check-by: 2029")
    changed.write_text(text)
    touched.touch()
    open_index(str(kb), str(home)).close()
    upkeep.read = read
    return count


if __name__ == "__main__":
    sys.exit(main())
