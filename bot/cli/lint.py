"""`chock lint`: one line a fault, as path:line: what is wrong; what to write."""

import json
import sys
from argparse import Namespace
from pathlib import Path

from bot.desk.lint import lint as lint_kb
from bot.desk.mend import mend
from bot.model.place import BotError, Fault
from bot.store.clock import today
from bot.store.folders import home_folder, kb_folder
from bot.store.memo import Memo
from bot.store.pages import shown


def lint(asked: Namespace) -> int:
    """Check whole knowledge bases, or show the faults of some pages in one."""
    faults: set[Fault] = set()
    paths = [Path(path) for path in asked.paths] or [
        Path(kb_folder(asked.kb, asked.home))
    ]
    for kb in dict.fromkeys(map(_kb_of, paths)) if asked.mend else ():
        for line in mend(kb):
            print(line, file=sys.stderr)
    memo = Memo(_kept_in(asked))
    for path in paths:
        kb = _kb_of(path)
        found = lint_kb(kb, today(), None if path == kb else path, memo)
        faults |= {f for f in found if path == kb or _below(f, path)}
    memo.close()
    ordered = sorted(faults)
    if asked.json:
        rows = [
            {"path": f.place.path, "line": f.place.line, "says": f.says}
            for f in ordered
        ]
        print(json.dumps({"faults": rows}))
    else:
        for fault in ordered:
            print(fault)
        count = f"{len(ordered)} to mend" if ordered else "nothing to mend"
        print(count, file=sys.stderr)
    return 1 if ordered else 0


def _kept_in(asked: Namespace) -> Path | None:
    """Where what was worked out of pages is kept; None where there is no store."""
    home = Path(home_folder(asked.home))
    return home / "lint.db" if home.is_dir() else None


def _kb_of(path: Path) -> Path:
    """The knowledge base that a path is, or lies in."""
    for folder in (path, *path.absolute().parents):
        if (folder / "cards").is_dir():
            return folder
    raise BotError(f"'{path}' is in no knowledge base; name a folder with cards/ in it")


def _below(fault: Fault, path: Path) -> bool:
    place, wanted = fault.place.path, shown(path)
    return place == wanted or place.startswith(f"{wanted}/")
