"""How misspelt words are heard: `python tools/spelling.py PAIRS.tsv...`.

PAIRS.tsv has a misspelt word, a tab and the word that was meant, after a line of heads;
pairs whose right word is none of the trade's are left out. Each word is read alone,
through the stored index, as a typed one is. Told of each file:

    heard right   the word, or its nearest reading, means what the right word means
    cured         those taken for a slip, and of these the share that is right
    left alone    those that were taken for words of their own

`--common` names a file with a word a line, in English and spelt right: how many of them
are taken for slips. `--kind NAME` keeps the pairs whose last column says so.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.desk.shelf import open_index
from bot.language.line import listen
from bot.store.index import CardIndex

ROOT = Path(__file__).resolve().parent.parent


class Heard(NamedTuple):
    """What became of a misspelt word."""

    written: str
    meant: str
    read_as: str
    right: bool


def pairs_in(path: Path, kind: str, index: CardIndex) -> list[tuple[str, str]]:
    """The pairs of a file whose right word is one of the trade's."""
    rows = [line.lower().split("\t") for line in path.read_text().splitlines()[1:]]
    return [
        (row[0], row[1])
        for row in rows
        if row[0].isalpha() and len(row[0]) > 2 and index.lexicon.deals_in(row[1])
        if not kind or row[-1] == kind
    ]


def hear(written: str, meant: str, index: CardIndex) -> Heard:
    """One word, read as a person's."""
    lexicon = index.lexicon
    line = listen(written, lexicon, index)
    found = {item.term for item in line.terms(lexicon).items}
    wanted = {item.term for item in listen(meant, lexicon).terms(lexicon).items}
    _, _, read_as = "".join(line.notes[:1]).partition(" read as ")
    return Heard(written, meant, read_as, bool(found & wanted - {""}))


def table(heard: list[Heard]) -> dict[str, object]:
    """The figures of some words."""
    cured = [one for one in heard if one.read_as]
    return {
        "pairs": len(heard),
        "heard right": sum(one.right for one in heard) / max(1, len(heard)),
        "cured": len(cured),
        "cured right": sum(one.right for one in cured) / max(1, len(cured)),
        "left alone": sum(not one.read_as and not one.right for one in heard),
    }


def main() -> None:
    """Read the arguments, measure, print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("pairs", type=Path, nargs="*")
    parser.add_argument("--kb", default=str(ROOT / "kb"))
    parser.add_argument("--kind", default="")
    parser.add_argument("--common", type=Path)
    parser.add_argument("--misses", action="store_true")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    figures: dict[str, object] = {}
    with TemporaryDirectory() as folder:
        index = open_index(asked.kb, folder)
        for path in asked.pairs:
            heard = [hear(*pair, index) for pair in pairs_in(path, asked.kind, index)]
            figures[path.name] = table(heard)
            if asked.misses:
                print(*(one for one in heard if not one.right), sep="\n")
        if asked.common:
            words = [w for w in asked.common.read_text().split() if w.isalpha()]
            notes = [listen(word, index.lexicon, index).notes for word in words]
            figures[asked.common.name] = {
                "words": len(words),
                "taken for slips": sum(map(bool, notes)),
            }
        index.close()
    for name, found in figures.items():
        print(name)
        for what, value in found.items():  # type: ignore[attr-defined]
            shown = f"{value:.3f}" if isinstance(value, float) else value
            print(f"  {what:16} {shown}")
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
