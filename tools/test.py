"""Check everything: `python3 tools/test.py [what you would give to pytest]`.

Makes the environment with the test packages the first time, then runs the linter, the
format check, the type checker, `chock lint` on the knowledge base, and the tests.
"""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from environment import ROOT, ready

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def main() -> None:
    """Run every check, even after one that failed; exit 1 if any did."""
    python = str(ready("test"))
    side_by_side = {
        "ruff": ["ruff", "check", "--output-format", "concise", "."],
        "format": ["ruff", "format", "--check", "--quiet", "."],
        "mypy": ["mypy"],
        "chock lint": ["bot.cli", "lint", "kb"],
    }
    tests = ["pytest", "-q", "-n", "auto", "--dist", "worksteal", *sys.argv[1:]]
    failed = _failed(python, side_by_side) + _failed(python, {"pytest": tests})
    if failed:
        sys.exit(f"failed: {', '.join(failed)}")
    print("all checks passed")


def _failed(python: str, checks: Mapping[str, Sequence[str]]) -> list[str]:
    """Run some checks at once and show them one by one; the names of those failed."""
    alone = len(checks) == 1
    running = {
        name: subprocess.Popen(
            [python, "-m", *command],
            cwd=ROOT,
            stdout=None if alone else subprocess.PIPE,
            stderr=None if alone else subprocess.STDOUT,
        )
        for name, command in checks.items()
    }
    failed = []
    for name, process in running.items():
        print(f"== {name}", flush=True)
        said, _ = process.communicate()
        sys.stdout.buffer.write(said or b"")
        sys.stdout.flush()
        failed += [name] if process.returncode else []
    return failed


if __name__ == "__main__":
    main()
