"""A knowledge base laid out anew for each seed of `mutate`, and commands run on it."""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import shutil
import signal
import sys
import time
import traceback
from typing import TYPE_CHECKING, NamedTuple

from bot.cli.main import main
from bot.desk.shelf import open_index
from bot.store.scan import EAR, RULES, SIDE, WORDS, least

if TYPE_CHECKING:
    import random
    from collections.abc import Callable, Sequence
    from pathlib import Path

NO_BRAKES = "no brakes, pedal goes to the floor"
PATIENCE_S = 30
MOST_MB = 3_000
"""More memory than this a process under trial does not get."""

SMALL = 8
"""Pages of the small knowledge base; of its senses one in so many stays, so that they
are read anew in a second."""


class Ran(NamedTuple):
    """One command: what it printed, how it ended, how long it took."""

    name: str
    out: str
    err: str
    status: int
    took_s: float


class Done(NamedTuple):
    """What came of work in a process of its own: None when it was killed."""

    told: object
    over_mb: float


def apart(work: Callable[[], object], ready: Callable[[], object] = str) -> Done:
    """Do some work in a process of its own; what makes ready for it does not count."""
    ends, begins = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ends)
        signal.alarm(PATIENCE_S)
        _, most = resource.getrlimit(resource.RLIMIT_AS)
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MB << 20, most))
        ready()
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        told = work()
        after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        with os.fdopen(begins, "w", encoding="utf-8") as file:
            json.dump([told, (after - before) / 1024], file)
        os._exit(0)
    os.close(begins)
    with os.fdopen(ends, encoding="utf-8") as file:
        said = file.read()
    os.waitpid(child, 0)
    return Done(*json.loads(said)) if said else Done(None, 0.0)


def run(kb: Path, home: Path, words: Sequence[str], typed: str = "") -> Ran:
    """Run a command as its user would."""
    out, err = io.StringIO(), io.StringIO()
    old, sys.stdin = sys.stdin, io.StringIO(typed)
    start = time.process_time()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            status = main(["--kb", str(kb), "--home", str(home), *words])
        except SystemExit as left:
            status = int(left.code or 0)
        except BaseException:  # noqa: BLE001 - whatever it is, it is what is looked for
            traceback.print_exc()
            status = -1
    took = time.process_time() - start
    sys.stdin = old
    return Ran(words[0], out.getvalue(), err.getvalue(), status, took)


class Stage:
    """A whole knowledge base with its index, to be laid out anew for each seed."""

    def __init__(self, folder: Path, kb: Path, *, small: bool) -> None:
        self.folder = folder
        self.model = folder / "model"
        self.kb, self.home = folder / "kb", folder / "home"
        shutil.copytree(kb, self.model, ignore=shutil.ignore_patterns("README.md"))
        if small:
            _made_small(self.model)
        self.files = sorted(p for p in self.model.rglob("*") if p.is_file())
        self.index = folder / "index"
        self.index.mkdir()
        self.lay_out(0)
        open_index(str(self.kb), str(self.index)).close()
        self._usual: dict[str, dict[str, float]] = {}

    def lay_out(self, seed: int) -> None:
        """The knowledge base as it was, and a fresh store; one in ten has no index."""
        for path in (self.kb, self.home):
            shutil.rmtree(path, ignore_errors=True)
        shutil.copytree(self.model, self.kb, copy_function=os.link)
        shutil.copytree(self.index, self.home) if seed % 10 else self.home.mkdir()

    def usual(self, kind: str) -> dict[str, float]:
        """What each command takes where nothing is wrong, and some files changed."""
        if kind not in self._usual:
            self._usual[kind] = self._measured(kind)
        return self._usual[kind]

    def _measured(self, kind: str) -> dict[str, float]:
        found: dict[str, float] = {}
        for _ in range(2 if kind == "page" else 1):
            self.lay_out(0 if kind == "cold" else 1)
            rules = [self.kb / RULES / f"{rule}.md" for rule in least()][:2]
            for path in (self.kb / WORDS[0], *self.pages()[:1], *rules):
                if path.name not in WORDS or kind == "words":
                    text = path.read_text(encoding="utf-8")
                    path.unlink()
                    path.write_text(f"{text}\n", encoding="utf-8")
            done = apart(lambda: commands(self.kb, self.home, self.pages()[0], None))
            for ran in map(Ran._make, done.told or ()):  # type: ignore[call-overload]
                found[ran.name] = min(ran.took_s, found.get(ran.name, ran.took_s))
        return found

    def pages(self) -> list[Path]:
        """The pages of faults and procedures."""
        return sorted(p for p in self.kb.rglob("*.md") if p.parent.name != RULES)

    def target(self, lots: random.Random) -> Path:
        """A file to be hurt, what matters more often than the rest."""
        rules = [self.kb / RULES / f"{rule}.md" for rule in least()]
        words = [self.kb / name for name in (*WORDS, f"{RULES}/{EAR}")]
        every = [self.kb / path.relative_to(self.model) for path in self.files]
        groups = (self.pages(), self.pages(), rules, rules, words, every)
        return lots.choice(lots.choice(groups))


def _made_small(kb: Path) -> None:
    """Few pages, no lines for the trainers, few senses; all stop rules."""
    kept = sorted(kb.glob("cards/*/*.md"))[::12][:SMALL]
    for path in [*kb.glob("cards/*/*"), *kb.glob("procedures/*")]:
        near = path.with_name(path.name.replace(SIDE, ".md"))
        if near not in kept:
            path.unlink()
    for path in [*kb.glob(f"{RULES}/*{SIDE}"), kb / "acts.wordings.txt"]:
        path.unlink()
    senses = kb / "senses.yaml"
    head, *entries = senses.read_text(encoding="utf-8").split("\n  - is: ")
    few = [e for n, e in enumerate(entries) if n % SMALL == 0 or "\nparts:" in e]
    senses.write_text("\n  - is: ".join((head, *few)), encoding="utf-8")


PAPER = (("cards",), ("card", "{}"), ("print", "{}", "--html"))
"""Commands that read all pages: each seed has one of them."""


def commands(kb: Path, home: Path, hurt: Path, seed: int | None) -> list[Ran]:
    """The real commands on a knowledge base of which a page was hurt."""
    name = hurt.name.removesuffix(".md") or "x"
    ran = [
        run(kb, home, ("ask", NO_BRAKES)),
        run(kb, home, ("ask", "--json", NO_BRAKES))._replace(name="json"),
        run(kb, home, ("talk",), f"{NO_BRAKES}\nwhy\nquit\n"),
    ]
    ran += [
        run(kb, home, [word.format(name) for word in words])
        for words in (PAPER if seed is None else PAPER[seed % 3 :][:1])
    ]
    asides = hurt.parent == kb and hurt.name not in WORDS
    if asides or (seed is not None and seed % 10 == 0):
        ran.append(run(kb, home, ("lint", str(hurt if not asides else kb))))
    return ran
