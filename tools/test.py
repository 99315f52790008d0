"""Check everything: `python3 tools/test.py [what you would give to pytest]`.

Makes the environment with the test packages the first time, then runs the linter, the
format check, the type checker, `chock lint` on the knowledge base, and the tests.
"""

from __future__ import annotations

import subprocess
import sys

from environment import ROOT, ready


def main() -> None:
    """Run every check, even after one that failed; exit 1 if any did."""
    python = str(ready("test"))
    checks = {
        "ruff": ["ruff", "check", "--output-format", "concise", "."],
        "format": ["ruff", "format", "--check", "--quiet", "."],
        "mypy": ["mypy"],
        "chock lint": ["bot.cli", "lint", "kb"],
        "pytest": ["pytest", "-q", "-n", "auto", "--dist", "worksteal", *sys.argv[1:]],
    }
    failed = [
        name
        for name, command in checks.items()
        if not _passes(name, [python, "-m", *command])
    ]
    if failed:
        sys.exit(f"failed: {', '.join(failed)}")
    print("all checks passed")


def _passes(name: str, command: list[str]) -> bool:
    print(f"== {name}", flush=True)
    return subprocess.run(command, cwd=ROOT, check=False).returncode == 0


if __name__ == "__main__":
    main()
