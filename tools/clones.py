"""Many clones of one knowledge base that all change it and share: nothing may be lost.

    python tools/clones.py [--clones N] [--rounds N] [--seed N] [--share CHANCE]
                           [--at-once N] [--json FILE]

In every round each clone, in an order by seed, changes something at random (pages and
wordings edited, new pages, private ones, outcome and remark lines, sign-offs, pages
deleted, clashes resolved); some of them exchange with one bare repository, a few at
the very same moment. After two closing rounds without changes all trees must be equal;
each word that was written must be in a file or in a text set aside, unless somebody
took out on purpose what held it; and nothing private may be anywhere but where it was
written.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import NamedTuple

from bot.club.joined import page_of_aside
from bot.club.units import Branch, Leaf, Unit, What, cut, text_of
from bot.desk.exchange import clone, exchange
from bot.desk.gate import Checks
from bot.desk.gitround import Exchanged
from bot.store.git import Who

ROOT = Path(__file__).resolve().parent.parent
PAGES = (
    "cards/brakes/abs-lamp-on.md",
    "cards/brakes/brake-drags.md",
    "cards/air-supply/air-leaks-parked.md",
    "cards/tyre-inflation/wheel-valve-leaks.md",
    "cards/tyres-wheels/tyre-slow-leak.md",
    "procedures/leak-hunt.md",
    "stop-rules/no-brakes.md",
)
NOTE = """---
kind: field note
about: wheel-valve-leaks
seen: 2026-11-21
share: {share}
authors:
  - Tern
---

# Seen with {token}

The Heron stood overnight. It was {token}.
"""
HOT = 0.4
"""So often the first lines of one page are edited, so that edits clash."""

FIXED = (What.RULE, What.TAIL, What.NAME, What.TITLE, What.VERDICT)


class Asked(NamedTuple):
    """Clones, rounds; how likely one shares in a round, and how many do at once."""

    clones: int = 20
    rounds: int = 200
    seed: int = 1
    share: float = 0.5
    at_once: int = 2


class Said(NamedTuple):
    """What the run ended with; `wrong` is empty when nothing was lost."""

    counts: dict[str, float]
    wrong: list[str]


class Member:
    """One clone, who works on it, and what was written there."""

    def __init__(self, kb: Path, number: int, seed: int) -> None:
        self.kb = kb
        self.device = sha256(f"device {number}".encode()).hexdigest()[:32]
        self.who = Who(f"Member {number}", self.device)
        self.number = number
        self.draw = random.Random(f"{seed} {number}")
        self.count = 0
        self.written: dict[str, str] = {}
        self.private: set[str] = set()
        self.dropped: set[str] = set()
        self.did: Counter[str] = Counter()

    def token(self, path: str) -> str:
        """A word that nobody else writes."""
        self.count += 1
        token = f"zq{self.number}x{self.count}q"
        self.written[token] = path
        return token

    def files(self, *globs: str) -> list[str]:
        """Files here that match, by path."""
        found = {path for one in globs for path in self.kb.glob(one)}
        return sorted(p.relative_to(self.kb).as_posix() for p in found if p.is_file())

    def pages(self) -> list[str]:
        """The pages here that are shared."""
        found = self.files("cards/*/*.md", "procedures/*.md", "stop-rules/*.md")
        return found + [p for p in self.files("notes/*.md") if "private" not in p]

    def work(self) -> None:
        """Change something, or nothing."""
        acts = [self.edit] * 6 + [self.wording, self.outcome, self.outcome, self.note]
        acts += [self.remark, self.sign, self.keep_private, self.settle, self.settle]
        acts += [self.delete] if self.draw.random() < 0.3 else [self.edit]
        for act in self.draw.sample(acts, self.draw.choice((0, 1, 1, 2, 3))):
            act()
            self.did[act.__name__] += 1

    def edit(self) -> None:
        """Write a word into a unit of a page, or add a sign."""
        pages, is_hot = self.pages(), self.draw.random() < HOT
        path = pages[0] if is_hot else self.draw.choice(pages)
        page = cut((self.kb / path).read_text(), path)
        units = [leaf for leaf in leaves(page) if leaf.what not in FIXED]
        at = self.draw.choice(units[: 8 if is_hot else None])
        token = self.token(path)
        text = f"{at.text} {token}"
        if at.what is What.POINT and self.draw.random() < 0.4:
            text = f"{at.text}\n- new {token}: tells nothing."
        (self.kb / path).write_text(text_of(replaced(page, at, text)))

    def wording(self) -> None:
        """Add a line beside a page."""
        path = self.draw.choice(self.files("cards/*/*.wordings.txt"))
        lines = (self.kb / path).read_text().split("\n")
        lines.insert(self.draw.randrange(len(lines)), f"it goes {self.token(path)}")
        (self.kb / path).write_text("\n".join(lines))

    def grow(self, path: str) -> None:
        """Append a line to a file of this device."""
        file = self.kb / path
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("a") as lines:
            lines.write(f"1 outcome {self.count} {self.token(path)}\n")

    def outcome(self) -> None:
        """Append an outcome."""
        self.grow(f"club/outcomes/{self.device}.txt")

    def remark(self) -> None:
        """Append a remark on a page."""
        page = self.draw.choice(self.pages()).removesuffix(".md")
        self.grow(f"club/remarks/{page}/{self.device}.txt")

    def sign(self) -> None:
        """Put a sign-off under a page as it is here."""
        page = self.draw.choice(self.pages())
        digest = sha256((self.kb / page).read_bytes()).hexdigest()[:12]
        folder = self.kb / "club" / "sign-offs" / page.removesuffix(".md")
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{digest}.{self.device[:12]}.json"
        if not path.exists():
            token = self.token(path.relative_to(self.kb).as_posix())
            path.write_text(json.dumps({"payload": token}) + "\n")

    def note(self) -> None:
        """Write a new page."""
        token = self.token("notes")
        (self.kb / "notes").mkdir(exist_ok=True)
        text = NOTE.format(share="club", token=token)
        (self.kb / "notes" / f"seen-{token}.md").write_text(text)

    def keep_private(self) -> None:
        """Write a page that is nobody else's."""
        token = self.token("notes")
        self.private.add(token)
        (self.kb / "notes").mkdir(exist_ok=True)
        text = NOTE.format(share="private", token=token)
        (self.kb / "notes" / f"private-{token}.md").write_text(text)

    def delete(self) -> None:
        """Take a page out; what it held is gone on purpose."""
        pages = [page for page in self.pages() if page.startswith("notes/")]
        if pages:
            page = self.draw.choice(pages)
            self.dropped |= tokens(self.kb / page)
            (self.kb / page).unlink()

    def settle(self) -> None:
        """End a clash, one way or the other."""
        asides = self.files("club/aside/**/*.md")
        if asides:
            aside = self.draw.choice(asides)
            page, whose = page_of_aside(aside), self.draw.choice(("mine", "theirs"))
            ours, theirs = tokens(self.kb / aside), tokens(self.kb / page)
            self.dropped |= theirs - ours if whose == "mine" else ours - theirs
            if whose == "mine":
                (self.kb / page).write_bytes((self.kb / aside).read_bytes())
            (self.kb / aside).unlink()


def leaves(unit: Unit) -> list[Leaf]:
    """The units of a page that are not cut further."""
    if isinstance(unit, Leaf):
        return [unit]
    return [leaf for part in unit.parts for leaf in leaves(part)]


def replaced(unit: Unit, at: Leaf, text: str) -> Unit:
    """A page with other words in one unit."""
    if isinstance(unit, Branch):
        return unit._replace(parts=tuple(replaced(p, at, text) for p in unit.parts))
    return unit._replace(text=text) if unit is at else unit


def tokens(path: Path) -> set[str]:
    """The words of ours that a file holds."""
    text = path.read_text() if path.is_file() else ""
    words = text.replace(":", " ").replace(".", " ").replace('"', " ").split()
    return {word for word in words if word[:2] == "zq" and word[-1] == "q"}


class Club:
    """All clones, and the bare repository between them."""

    def __init__(self, folder: Path, clones: int, seed: int) -> None:
        self.bare = folder / "the stick" / "club.git"
        self.bare.parent.mkdir()
        git = ("git", "init", "--quiet", "--bare", "--initial-branch=main")
        subprocess.run((*git, str(self.bare)), check=True)
        first = folder / "kb0"
        for page in PAGES:
            for path in (page, page.replace(".md", ".wordings.txt")):
                (first / path).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(ROOT / "kb" / path, first / path)
        self.members = [Member(folder / f"kb{n}", n, seed) for n in range(clones)]
        self.lock = Lock()
        self.counts: Counter[str] = Counter()
        self.wrong: list[str] = []
        self.share(self.members[0])
        for member in self.members[1:]:
            clone(str(self.bare), member.kb)

    def share(self, member: Member) -> Exchanged:
        """Have a member exchange."""
        begun = time.monotonic()
        done = exchange(member.kb, str(self.bare), member.who, Checks())
        with self.lock:
            self.counts["exchanges"] += 1
            self.counts["conflicts"] += len(done.conflicts)
            self.counts["unsent"] += bool(done.unsent)
            self.counts["ms"] += int(1000 * (time.monotonic() - begun))
        return done

    def round(self, draw: random.Random, how: Asked) -> None:
        """Everybody changes something, and some exchange."""

        def one(member: Member) -> None:
            member.work()
            if member in sharing:
                self.share(member)

        order = draw.sample(self.members, len(self.members))
        sharing = [member for member in order if draw.random() < how.share]
        with ThreadPoolExecutor(how.at_once) as pool:
            list(pool.map(one, order))

    def close(self, draw: random.Random) -> None:
        """Everybody exchanges twice, in an order by seed."""
        for _ in range(2):
            for member in draw.sample(self.members, len(self.members)):
                self.share(member)

    def ended(self) -> list[str]:
        """What is wrong now that all have shared."""
        trees = {self.tree(member) for member in self.members}
        wrong = [f"{len(trees)} different trees"] if len(trees) > 1 else []
        held: set[str] = set()
        for path in self.members[0].files("**/*"):
            held |= tokens(self.members[0].kb / path) if path[0] != "." else set()
        dropped = {token for member in self.members for token in member.dropped}
        for member in self.members:
            for token, path in member.written.items():
                kept = token in held or token in dropped or token in member.private
                wrong += [] if kept else [f"{token} of {path} is lost"]
        return wrong + self.leaked()

    def tree(self, member: Member) -> tuple[tuple[str, str], ...]:
        """The files of a clone that are shared, by digest."""
        shared = (p for p in member.files("**/*") if p[0] != "." and "private" not in p)
        return tuple(
            (path, sha256((member.kb / path).read_bytes()).hexdigest())
            for path in shared
        )

    def leaked(self) -> list[str]:
        """Private words that any object of the bare repository holds."""
        git = ("git", "--git-dir", str(self.bare))
        ask = (*git, "cat-file", "--batch", "--batch-all-objects", "--buffer")
        said = subprocess.run(ask, check=True, capture_output=True).stdout
        whole = subprocess.run(
            (*git, "fsck", "--strict"), capture_output=True, text=True
        )
        wrong = [whole.stderr] if whole.returncode else []
        for member in self.members:
            found = (t for t in sorted(member.private) if f"{t}\n".encode() in said)
            wrong += [f"{token} is private and was shared" for token in found]
        return wrong


def run(how: Asked, show: bool = False) -> Said:
    """A whole run in a folder of its own."""
    draw = random.Random(how.seed)
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        club = Club(Path(folder), how.clones, how.seed)
        for nth in range(how.rounds):
            club.round(draw, how)
            if show and nth % 10 == 9:
                took = time.monotonic() - begun
                print(f"round {nth + 1}: {took:.0f} s {dict(club.counts)}", flush=True)
        club.close(draw)
        wrong = club.ended()
        did = sum((member.did for member in club.members), Counter[str]())
        words = sum(len(member.written) for member in club.members)
        left = len(club.members[0].files("club/aside/**/*.md"))
    counts = {**club.counts, **did, "words": words, "asides at the end": left}
    return Said({**counts, "seconds": round(time.monotonic() - begun, 1)}, wrong)


def main() -> int:
    """Run and print the table; 1 if anything was lost or differs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--clones", type=int, default=20)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", type=float, default=0.5)
    parser.add_argument("--at-once", type=int, default=2)
    parser.add_argument("--json")
    asked = parser.parse_args()
    how = Asked(asked.clones, asked.rounds, asked.seed, asked.share, asked.at_once)
    said = run(how, show=True)
    for name, value in said.counts.items():
        print(f"{name:20} {value:10}")
    for wrong in said.wrong:
        print(wrong)
    if asked.json:
        figures = {**said.counts, "wrong": len(said.wrong)}
        Path(asked.json).write_text(json.dumps(figures, indent=1) + "\n")
    return 1 if said.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
