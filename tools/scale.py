"""What a growing shelf costs: `python tools/scale.py [PAGES...] [--json FILE]`.

Pages are generated: each takes `SIGNS` signs of random pages of the knowledge base,
with a word of its own in every fourth, so that cost grows as it would; how well pages
are found is not looked at. For each number of pages: milliseconds a page to fill the
index, its size by page, milliseconds of a question in a warm process (median, and one
in twenty) and of one edited page, and the memory of a process that asks. Beside it, on
the same texts in the same run, SQLite's FTS5 (any of the words), and where it is
installed bm25s, a BM25 library; neither cures spelling, reads phrases or weighs
evidence. Informational.
"""

from __future__ import annotations

import argparse
import json
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from growth import shelf_of

from bot.language.line import listen
from bot.language.text import clean, said_in
from bot.match.rank import rank
from bot.match.records import Record, Sign, features_of
from bot.store.index import CardIndex, Source

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from bot.language.lexicon import Lexicon

KB = Path(__file__).resolve().parent.parent / "kb"
SIZES = (1_000, 10_000)
SIGNS, AT_ONCE = 24, 1_000
ASKED = 60
SEED = 7


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("pages", nargs="*", type=int, default=SIZES)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    figures = {}
    for size in asked.pages:
        # each in a process of its own, for memory is never given back
        command = [sys.executable, __file__, "--one", str(size)]
        done = subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True)
        figures[str(size)] = json.loads(done.stdout)
        print(f"{size} pages")
        for name, value in figures[str(size)].items():
            print(f"  {name:34} {value:12.3f}", flush=True)
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=1) + "\n")
    return 0


def one(size: int) -> dict[str, float]:
    """The figures of one number of pages."""
    with tempfile.TemporaryDirectory(prefix="chock-scale-") as folder:
        home = Path(folder)
        shelf = shelf_of(KB, home)
        signs = [s for page in shelf.held for s in shelf.record(page).signs if not s.of]
        asked = Random(SEED).sample([sign.text for sign in signs], ASKED)
        lexicon = shelf.index.lexicon
        index = CardIndex.open(str(home / "scale.db"))
        with index:
            index.put_words([], lexicon)
        figures = filled(index, pages(size, signs))
        figures |= {
            "index, KB a page": (home / "scale.db").stat().st_size / size / 1024
        }
        figures["one edited page, ms"] = 1000 * edited(index, next(pages(1, signs)))
        index.close()
        figures |= asked_apart(home / "scale.db", asked)
        texts = [". ".join(s.text for s in page.signs) for page in pages(size, signs)]
        figures |= by_fts5(texts, asked)
        if find_spec("bm25s"):
            figures |= by_library(texts, asked, lexicon)
    return figures


def pages(size: int, signs: Sequence[Sign]) -> Iterator[Record]:
    """Generated pages, the same ones each time."""
    lots = Random(SEED)
    for number in range(size):
        own = lots.sample(signs, SIGNS)
        name = f"q{number:x}z"
        told = [
            Sign(f"{s.text} {name}", f"{s.terms} {name}") if n % 4 == 0 else s
            for n, s in enumerate(own)
        ]
        yield Record(f"page-{number}", told[0].text, tuple(told), features_of(told, ()))


def filled(index: CardIndex, held: Iterator[Record]) -> dict[str, float]:
    """Put all pages in, a thousand at a time; seconds in all, and of the last thousand.

    Without the reading of their texts, which takes each page the same time.
    """
    times = []
    some = list(_some(held))
    while some:
        started = time.perf_counter()
        with index:
            for page in some:
                index.put_card(Source(f"{page.id}.md", 0, 0, ""), page)
        times.append((time.perf_counter() - started) / len(some))
        some = list(_some(held))
    return {
        "put in, ms a page, the first": 1000 * times[0],
        "put in, ms a page, the last": 1000 * times[-1],
    }


def _some(held: Iterator[Record]) -> Iterator[Record]:
    for _, page in zip(range(AT_ONCE), held, strict=False):
        yield page


def edited(index: CardIndex, page: Record) -> float:
    """Seconds to put one page in anew."""
    started = time.perf_counter()
    with index:
        index.put_card(Source(f"{page.id}.md", 0, 0, "new"), page)
    return time.perf_counter() - started


def asked_apart(path: Path, asked: Sequence[str]) -> dict[str, float]:
    """The times of some questions in a process that does nothing else; its memory."""
    command = [sys.executable, __file__, "--ask", str(path)]
    done = subprocess.run(
        command, input=json.dumps(asked), stdout=subprocess.PIPE, check=True, text=True
    )
    return dict(json.loads(done.stdout))


def asking(path: str, asked: Sequence[str]) -> dict[str, float]:
    """What `asked_apart` has another process do."""
    index = CardIndex.open(path)
    figures = spread("question", lambda words: _ask(words, index), asked)
    return {**figures, "memory of the questions, MB": peak_mb()}


def peak_mb() -> float:
    """The most memory that this process had, in MB; `getrusage` tells its parent's."""
    lines = Path("/proc/self/status").read_text().splitlines()
    found = next(line for line in lines if line.startswith("VmHWM:"))
    return int(found.split()[1]) / 1024


def _ask(words: str, index: CardIndex) -> object:
    return rank(listen(words, index.lexicon, index), index)


def spread(
    name: str, ask: Callable[[str], object], asked: Sequence[str]
) -> dict[str, float]:
    """The median and the 95th percentile of the times of some questions, warm."""
    for words in asked[:5]:
        ask(words)
    times = []
    for words in asked:
        started = time.perf_counter()
        ask(words)
        times.append(1000 * (time.perf_counter() - started))
    slow = statistics.quantiles(times, n=20)[-1]
    return {f"{name}, ms": statistics.median(times), f"{name}, ms, 1 in 20": slow}


def by_fts5(texts: Sequence[str], asked: Sequence[str]) -> dict[str, float]:
    """The same questions by SQLite's own index of words."""
    database = sqlite3.connect(":memory:")
    database.execute("CREATE VIRTUAL TABLE held USING fts5(text, tokenize='porter')")
    database.executemany("INSERT INTO held VALUES (?)", ((t,) for t in texts))
    query = "SELECT rowid FROM held WHERE held MATCH ? ORDER BY rank LIMIT 10"

    def ask(words: str) -> object:
        some = " OR ".join(f'"{w}"' for w in said_in(clean(words)[0]))
        return database.execute(query, (some,)).fetchall()

    return spread("FTS5", ask, asked)


def by_library(
    texts: Sequence[str], asked: Sequence[str], lexicon: Lexicon
) -> dict[str, float]:
    """The same questions by a BM25 library with a compiled core."""
    import bm25s

    def stems(text: str) -> list[str]:
        return [lexicon.stem(word) for word in said_in(clean(text)[0])]

    model = bm25s.BM25()
    model.index([stems(text) for text in texts], show_progress=False)

    def ask(words: str) -> object:
        return model.retrieve([stems(words)], k=10, show_progress=False)

    return spread("bm25s", ask, asked)


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["--one", size]:
            print(json.dumps(one(int(size))))
        case ["--ask", database]:
            print(json.dumps(asking(database, json.load(sys.stdin))))
        case _:
            sys.exit(main())
