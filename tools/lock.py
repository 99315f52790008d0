"""Write the locks anew: `.venv/bin/python tools/lock.py [--upgrade]`.

Versions that still fit `pyproject.toml` stay, unless `--upgrade` is given. Each package
is locked with the digests of all its files, for every Python and machine at once; then
it is told for which of them a package has no wheel, and would have to be compiled.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from environment import LOCKED, ROOT

MACHINES = (
    "x86_64-manylinux_2_28",
    "aarch64-manylinux_2_28",
    "x86_64-apple-darwin",
    "aarch64-apple-darwin",
    "x86_64-pc-windows-msvc",
    "aarch64-pc-windows-msvc",
)
TEST, RUN = "tools/lock-test.txt", "tools/lock-run.txt"


def main() -> None:
    """Lock the test set, then the run set at the same versions, and try both."""
    with tempfile.TemporaryDirectory() as folder:
        pip = [sys.executable, "-m", "pip", "install", "-q", "--target", folder, "uv"]
        subprocess.run(pip, check=True)
        compiler = [str(Path(folder, "bin", "uv")), "pip", "compile", "-q"]
        _lock(compiler, TEST, "--extra", "test", *sys.argv[1:])
        _lock(compiler, RUN, "--constraint", TEST, "--upgrade")
        for lock in (RUN, TEST):
            print(f"{lock}: {_without_wheels(compiler, lock) or 'wheels everywhere'}")


def _lock(compiler: list[str], lock: str, *words: str) -> None:
    oldest = ".".join(map(str, LOCKED[0]))
    subprocess.run(
        [
            *(*compiler, "pyproject.toml", "-o", lock, *words),
            *("--extra", "sign"),
            *("--universal", "--python-version", oldest),
            *("--generate-hashes", "--no-annotate"),
            # only the command of num2words wants it, and it has no wheel
            *("--no-emit-package", "docopt"),
            *("--custom-compile-command", "tools/lock.py"),
        ],
        cwd=ROOT,
        check=True,
    )


def _without_wheels(compiler: list[str], lock: str) -> str:
    """The Pythons and machines that lack a wheel, and the first package they lack."""
    lacks = []
    for version in (".".join(map(str, python)) for python in LOCKED):
        for machine in MACHINES:
            asked = ["--python-version", version, "--python-platform", machine]
            done = subprocess.run(
                [*compiler, lock, "--offline", "--no-deps", "--no-build", *asked],
                cwd=ROOT,
                check=False,
                capture_output=True,
                text=True,
            )
            if done.returncode:
                why = done.stderr.partition("Because ")[2].partition(" and ")[0]
                lacks.append(f"\n  {version} {machine}: {why}")
    return "".join(lacks)


if __name__ == "__main__":
    main()
