"""`chock lint`: one line a fault, as path:line: what is wrong; what to write."""

import sys
from datetime import UTC, datetime
from pathlib import Path


def lint(words: list[str]) -> int:
    from bot.desk.lint import lint as faults_of

    kb = Path(words[0] if words else "kb")
    faults = faults_of(kb, datetime.now(UTC).date())
    for fault in faults:
        print(fault)
    print(f"{len(faults)} to mend" if faults else "nothing to mend", file=sys.stderr)
    return 1 if faults else 0
