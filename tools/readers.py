"""The readers that `mutate` feeds: each takes hostile text, and may only refuse it."""

from __future__ import annotations

import json
import random
import shutil
import time
import traceback
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from hostile import damaged, text

from bot.calc.book import SHEETS
from bot.calc.sheet import work_out
from bot.calc.typed import typed, units_typed
from bot.cards.cautions import read_cautions
from bot.cards.lesser import read_note, read_procedure
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.sources import read_sources
from bot.cards.template import fresh_card, fresh_note, fresh_procedure, fresh_rule
from bot.cards.wordings import read_ear, read_told, read_wordings
from bot.cards.words import read_words
from bot.cli.lines import lines
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.truck import TRUCKS, note
from bot.job import events as e
from bot.job.saved import pack
from bot.language.numbers import in_figures
from bot.language.quantities import quantities
from bot.model.place import BotError
from bot.store.chain import DIGEST, Line, best, write_head, write_line
from bot.store.journal import Journal
from bot.talk.clean import clean

if TYPE_CHECKING:
    from collections.abc import Callable

NOW = "2026-11-25T10:00:00+00:00"
OPTIONS = ("Yes, froth grows at the vent", "No, the soap lies still", "under 3 bar")

TRUCK = """fitted:
  - air brakes
aboard:
  - tyre gauge
units:
  - psi
"""


class Bench:
    """What the readers read with: a knowledge base, its library, a store."""

    def __init__(self, kb: Path, home: Path) -> None:
        self.kb, self.home = kb, home
        self.library = KbLibrary(str(kb), str(home), Journal(home))
        self.words = (kb / "words.yaml").read_text(encoding="utf-8")
        self.cautions = (kb / "cautions.md").read_text(encoding="utf-8")
        self.sources = (kb / "sources.yaml").read_text(encoding="utf-8")
        pages = sorted(kb.glob("cards/*/*.md"))
        self.pages = [path.read_text(encoding="utf-8") for path in pages]
        self.library.rank("one hub hisses after I park")
        self.library.choose("it froths", OPTIONS)
        harmless = random.Random(0)
        for _ in range(4):  # what a page's answers cost to be made ready is no harm
            _talk(self, harmless)

    def store(self) -> Path:
        """A store without jobs."""
        home = self.home / "store"
        shutil.rmtree(home, ignore_errors=True)
        home.mkdir()
        return home


Reader = "Callable[[Bench, random.Random], object]"


def _line(bench: Bench, lots: random.Random) -> object:
    return bench.library.line(clean(text(lots)))


def _danger(bench: Bench, lots: random.Random) -> object:
    return bench.library.danger(clean(text(lots)))


def _rank(bench: Bench, lots: random.Random) -> object:
    return bench.library.rank(clean(text(lots)))


def _answer(bench: Bench, lots: random.Random) -> object:
    said, options = clean(text(lots)), (*OPTIONS, text(lots)[:200])
    bench.library.volunteered(said, options)
    return bench.library.choose(said, options)


def _amount(_: Bench, lots: random.Random) -> object:
    said = text(lots)
    return quantities(in_figures(said[:400], {"nineteen": 19.0, "half": 0.5}))


def _sum(_: Bench, lots: random.Random) -> object:
    sheet = SHEETS[lots.choice(sorted(SHEETS))]
    known = lots.choice(sheet.inputs).name
    words = [lots.choice((f"{known}={text(lots)}", text(lots)))]
    words += [f"{each.name}=1" for each in sheet.inputs if lots.random() < 0.7]
    units_typed(words)
    return work_out(sheet, *typed(sheet, words))


def _card(bench: Bench, lots: random.Random) -> object:
    page = lots.choice((*bench.pages, fresh_card()))
    return read_card(damaged(page, lots), "kb/cards/brakes/x.md")


def _lesser(_: Bench, lots: random.Random) -> object:
    read, fresh = lots.choice(
        (
            (read_rule, fresh_rule()),
            (read_procedure, fresh_procedure()),
            (read_note, fresh_note()),
        )
    )
    return read(damaged(fresh, lots), "kb/procedures/x.md")


def _files(bench: Bench, lots: random.Random) -> object:
    read, whole = lots.choice(
        ((read_cautions, bench.cautions), (read_sources, bench.sources))
    )
    return read(damaged(whole, lots), "kb/x")


def _words(bench: Bench, lots: random.Random) -> object:
    short = bench.words[: lots.choice((2_000, 9_000))].rpartition("\n  - is")[0]
    return read_words(damaged(short, lots), "kb/words.yaml")


def _beside(_: Bench, lots: random.Random) -> object:
    read = lots.choice((read_ear, read_told, read_wordings))
    said = "# look-at-it\n= No dryer\naint got one\n+ fire\n- no fire\nword a=1 b=-2\n"
    return read(damaged(said, lots), "kb/x.wordings.txt")


def _truck(bench: Bench, lots: random.Random) -> object:
    said = damaged(TRUCK, lots).encode("utf-8", "surrogatepass")
    home = bench.store()
    (home / TRUCKS).mkdir(exist_ok=True)
    (home / TRUCKS / "heron.yaml").write_bytes(said)
    return note(str(home))


def _job(bench: Bench, lots: random.Random) -> object:
    """A job's file, damaged, or written by an enemy who knows the digests."""
    rows = [write_head(1, NOW, "0" * 16)]
    events = (e.Described("hiss", (), 1.0), e.CardChosen("wheel-valve-leaks"))
    for seq, event in enumerate(events, 1):
        kind, held = pack(event)
        said = json.dumps(held)
        if lots.random() < 0.4:
            held = {**held, lots.choice(sorted(held)): text(lots)[:9_000]}
            said = lots.choice((json.dumps(held), "[" * 20_000, text(lots), "{}"))
        line = Line(seq, True, NOW, kind, said.replace("\n", " "))
        rows.append(write_line(rows[-1][-DIGEST:], line))
    whole = "\n".join(rows) + "\n"
    hurt = damaged(whole, lots) if lots.random() < 0.6 else whole
    best(1, hurt.split("\n"), whole.split("\n"))
    home = bench.store()
    (home / "jobs").mkdir()
    data = hurt.encode("utf-8", "surrogatepass")
    (home / "jobs" / "1.txt").write_bytes(data)
    journal = Journal(home)
    try:
        journal.listed()
        entry = journal.entry(1)
        talk = Conversation(bench.library, journal, lambda: NOW, entry)
        return list(lines((*talk.open(), *talk.hear("why"))))
    finally:
        journal.close()


def _talk(bench: Bench, lots: random.Random) -> object:
    """A whole conversation, up to a check, with hostile words at every question."""
    journal = Journal(bench.store())
    talk = Conversation(bench.library, journal, lambda: NOW)
    talk.open()
    slowest = 0.0
    for words in ("the compressor cycles too often", "1", "", ""):
        start = time.process_time()
        list(lines(talk.hear(words or text(lots))))
        slowest = max(slowest, time.process_time() - start)
    journal.close()
    return Took(slowest)


class Took(NamedTuple):
    """What the slowest of several texts took, in seconds."""

    seconds: float


READERS: dict[str, Callable[[Bench, random.Random], object]] = {
    "line": _line,
    "danger": _danger,
    "rank": _rank,
    "answer": _answer,
    "amount": _amount,
    "sum": _sum,
    "card": _card,
    "lesser page": _lesser,
    "cautions, sources": _files,
    "words": _words,
    "wordings, ear": _beside,
    "truck": _truck,
    "job file": _job,
    "talk": _talk,
}


def read_one(seed: int, bench: Bench) -> tuple[int, str, str, float]:
    """One text to one reader: which, what went wrong, and how long it took."""
    lots = random.Random(seed)
    name = list(READERS)[seed % len(READERS)]
    wrong, read = "", None
    start = time.process_time()
    try:
        read = READERS[name](bench, lots)
    except BotError as refused:
        wrong = "a refusal of many lines" if "\n" in str(refused) else ""
    except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
        wrong = traceback.format_exc()[-700:]
    took = time.process_time() - start
    return seed, name, wrong, read.seconds if isinstance(read, Took) else took
