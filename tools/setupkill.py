"""Kill the set-up at many points, and start again; then start where no network is.

    python tools/setupkill.py [WHAT...] [--points N] [--patch PYTHON] [--minor PYTHON]

Packages are fetched once, for all trials; each trial then has a scratch copy of the
project. WHAT is any of `lines` (killed at the n-th line of the set-up's own code),
`times` (killed with all its children after so many seconds), `renewals` (killed while a
made environment is renewed, then started without the packages), `offline` (a made
environment, something changed, no packages to be had), `paths` (odd folders); all if
none is named. In each the very same start command must answer in the end. `--patch` is
another patch of this Python, `--minor` another Python that chock can do with.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WORDS = ("ask", "one hub hisses after I park")
ANSWER = "1. "
COUNTED = """
import os, runpy, signal, sys
root, point = sys.argv[1], int(sys.argv[2])
sys.path.insert(0, root + "/tools")
lines = 0
def trace(frame, event, _):
    global lines
    if not frame.f_code.co_filename.endswith("environment.py"):
        return None
    lines += event == "line"
    if lines == point > 0:
        os.killpg(0, signal.SIGKILL)
    return trace
import environment
sys.settrace(trace)
environment.ready()
sys.settrace(None)
print(lines)
"""
"""Sets up as the start does, and dies at one line, or says how many there are."""


@dataclass
class Bench:
    """A folder to try things in, and what came of it."""

    folder: Path
    python: str = f"{sys.base_prefix}/bin/python3"
    trials: dict[str, int] = field(default_factory=dict)
    failures: list[str] = field(default_factory=list)

    def fresh(self, name: str) -> Path:
        """A copy of the project with nothing set up."""
        hidden = (".git", ".venv*", ".*_cache", ".hypothesis", "__pycache__")
        place = self.folder / name
        shutil.copytree(ROOT, place, ignore=shutil.ignore_patterns(*hidden))
        return place

    def made(self, name: str) -> Path:
        """A copy of the project that was set up, and was moved since."""
        whole = self.folder / "made" / "chock"
        if not whole.exists():
            self.fresh("made/chock")
            self.requires("made once", self.starts(whole))
        place = self.folder / name
        shutil.copytree(whole, place, symlinks=True)
        return place

    def environ(self, packages: bool = True) -> dict[str, str]:
        """No network for anyone: pip has the kept packages, or nothing at all.

        One knowledge base for all copies: that it is indexed once saves minutes.
        """
        wheels = self.folder / ("wheels" if packages else "no-wheels")
        return {
            **os.environ,
            "CHOCK_HOME": str(self.folder / "home"),
            "CHOCK_KB": str(ROOT / "kb"),
            "PIP_NO_INDEX": "1",
            "PIP_FIND_LINKS": wheels.as_uri(),
        }

    def starts(
        self, place: Path, packages: bool = True, python: str = "", **more: str | None
    ) -> str:
        """Give the start command; what is wrong with what it said, or nothing."""
        environ = {**self.environ(packages), **more}
        command = [python or self.python, str(place / "tools" / "start.py"), *WORDS]
        done = subprocess.run(
            command,
            check=False,
            capture_output=True,
            text=True,
            env={name: value for name, value in environ.items() if value is not None},
        )
        right = not done.returncode and done.stdout.startswith(ANSWER)
        return "" if right else f"exit {done.returncode}: {done.stderr.strip()[-300:]}"

    def requires(self, what: str, *wrongs: str) -> None:
        """Count a trial, and what was wrong in it."""
        kind = what.split(":")[0]
        self.trials[kind] = self.trials.get(kind, 0) + 1
        found = "; ".join(wrong for wrong in wrongs if wrong)
        if found:
            self.failures.append(f"{what}: {found}")
        print(f"{'FAILED' if found else 'ok'}  {what}", file=sys.stderr, flush=True)

    def dies_at(self, place: Path, point: int, packages: bool = True) -> int:
        """Set up, and die at a line; without a death, how many lines there were."""
        command = [self.python, "-c", COUNTED, str(place), str(point)]
        done = subprocess.run(
            command,
            check=False,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=self.environ(packages),
            start_new_session=True,
        )
        return int(done.stdout or 0)

    def dies_after(self, place: Path, seconds: float) -> None:
        """Start, and die with all children after so long."""
        process = subprocess.Popen(
            [self.python, str(place / "tools" / "start.py"), *WORDS],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=self.environ(),
            start_new_session=True,
        )
        time.sleep(seconds)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def lines(bench: Bench, asked: argparse.Namespace) -> None:
    """Killed at lines spread over the set-up."""
    count = bench.dies_at(bench.fresh("counted"), 0)
    for point in _spread(count, asked.points):
        place = bench.fresh(f"line-{point}")
        bench.dies_at(place, point)
        bench.requires(f"lines: at {point} of {count}", bench.starts(place))
        shutil.rmtree(place)


def times(bench: Bench, asked: argparse.Namespace) -> None:
    """Killed at moments spread over the set-up."""
    place = bench.fresh("timed")
    begun = time.monotonic()
    bench.dies_at(place, 0)
    length = time.monotonic() - begun
    for number in range(asked.points):
        seconds = length * (number + 0.5) / asked.points
        place = bench.fresh(f"time-{number}")
        bench.dies_after(place, seconds)
        what = f"times: after {seconds:.1f} of {length:.1f} s"
        bench.requires(what, bench.starts(place))
        shutil.rmtree(place)


def renewals(bench: Bench, asked: argparse.Namespace) -> None:
    """Killed while an environment that is out of date is made anew."""
    count = bench.dies_at(_outdated(bench.made("renewed")), 0)
    for point in _spread(count, asked.points):
        place = _outdated(bench.made(f"renewal-{point}"))
        stamp = place / ".venv" / "chock.json"
        before = stamp.read_text()
        bench.dies_at(place, point)
        bench.requires(
            f"renewals: at {point} of {count}",
            bench.starts(place, packages=False),
            bench.starts(place),
            "not renewed" if stamp.read_text() == before else "",
        )
        shutil.rmtree(place)


def _spread(count: int, points: int) -> list[int]:
    return [1 + n * (count - 1) // max(points - 1, 1) for n in range(points)]


def _outdated(place: Path) -> Path:
    with (place / "tools" / "lock-run.txt").open("a") as lock:
        lock.write("# another edition\n")
    return place


def offline(bench: Bench, asked: argparse.Namespace) -> None:
    """A made environment starts without the packages, whatever was changed."""
    bench.requires("offline: moved", bench.starts(bench.made("moved"), packages=False))
    place = bench.made("comment")
    with (place / "pyproject.toml").open("a") as project:
        project.write("# a comment\n")
    bench.requires("offline: a comment", bench.starts(place, packages=False))
    place = _outdated(bench.made("outdated"))
    bench.requires("offline: locks changed", bench.starts(place, packages=False))
    place = bench.made("homeless")
    wrong = bench.starts(place, packages=False, HOME=None)
    bench.requires("offline: no HOME", wrong)
    bench.requires("offline: read-only", _read_only(bench, bench.made("read-only")))
    place = _without_python(bench.made("gone"))
    bench.requires("offline: Python moved", bench.starts(place, packages=False))
    for name, python in (("patch", asked.patch), ("minor", asked.minor)):
        if python:
            wrong = bench.starts(bench.made(name), packages=False, python=python)
            bench.requires(f"offline: another {name}", wrong)
    if asked.patch:
        place = _without_python(bench.made("patched"))
        wrong = bench.starts(place, packages=False, python=asked.patch)
        bench.requires("offline: another patch, the first gone", wrong)
    said = bench.starts(bench.fresh("first"), packages=False)
    wrong = "" if "connect to one" in said and said.count("\n") == 1 else said
    bench.requires("offline: the first start says what it needs", wrong)


def _without_python(place: Path) -> Path:
    """The links into a Python that is there no more."""
    for link in (place / ".venv" / "bin").glob("python*"):
        link.unlink()
        link.symlink_to("/nowhere/bin/python3")
    return place


def _read_only(bench: Bench, place: Path) -> str:
    """Start on a disk that takes nothing: a mount of its own, for root too."""
    mount = 'mount --bind "$1" "$1" && mount -o remount,ro,bind "$1" && shift'
    command = [bench.python, str(place / "tools" / "start.py"), *WORDS]
    done = subprocess.run(
        ["unshare", "-rm", "sh", "-c", f'{mount} && exec "$@"', "-", place, *command],
        check=False,
        capture_output=True,
        text=True,
        env=bench.environ(packages=False),
    )
    return "" if done.stdout.startswith(ANSWER) else done.stderr


def paths(bench: Bench, asked: argparse.Namespace) -> None:
    """Set up in an odd folder, move to another, run a script there by its own name."""
    odd = ("old truck", "Lkw für Ötzi 卡车", 'it\'s "quoted"', "100%s %20", "long" * 50)
    for name, other in zip(odd, (*odd[1:], odd[0]), strict=True):
        place = bench.fresh(f"odd/{name}")
        wrong = bench.starts(place, CHOCK_KB=None)
        moved = place.rename(bench.folder / f"to {other}")
        again = bench.starts(moved, packages=False, CHOCK_KB=None)
        script = [str(moved / ".venv" / "bin" / "chock"), *WORDS]
        done = subprocess.run(script, check=False, capture_output=True, text=True)
        itself = "" if done.stdout.startswith(ANSWER) else done.stderr
        bench.requires(f"paths: {name[:40]}", wrong, again, itself)
    link = bench.folder / "link"
    link.symlink_to(bench.fresh("linked"))
    bench.requires("paths: by a link", bench.starts(link))
    place = bench.fresh("twice")
    with ThreadPoolExecutor() as pool:
        wrongs = pool.map(bench.starts, (place, place))
    bench.requires("paths: two at once", *wrongs)


WHAT: dict[str, Callable[[Bench, argparse.Namespace], None]] = {
    "lines": lines,
    "times": times,
    "renewals": renewals,
    "offline": offline,
    "paths": paths,
}


def main() -> int:
    """Make the trials that are asked for; 1 if any failed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", nargs="*", choices=[*WHAT, []])
    parser.add_argument("--points", type=int, default=14)
    parser.add_argument("--patch")
    parser.add_argument("--minor")
    parser.add_argument("--json")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        lock = str(ROOT / "tools" / "lock-run.txt")
        fetch = [sys.executable, "-m", "pip", "download", "-q", "--require-hashes"]
        kept = ["--no-deps", "-r", lock, "-d", str(bench.folder / "wheels")]
        subprocess.run([*fetch, *kept], check=True)
        for what in asked.what or WHAT:
            WHAT[what](bench, asked)
    for kind, count in bench.trials.items():
        failed = sum(says.startswith(kind) for says in bench.failures)
        print(f"{kind:10} {count:4} trials {failed:4} failed")
    for says in bench.failures:
        print(f"  {says}")
    if asked.json:
        figures = {"trials": bench.trials, "failures": bench.failures}
        Path(asked.json).write_text(json.dumps(figures) + "\n")
    return 1 if bench.failures else 0


if __name__ == "__main__":
    sys.exit(main())
