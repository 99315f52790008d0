"""What a club's papers survive, by seeds: `python tools/clubsoak.py WHAT [--many N]`.

    changes   random changes of a page, its wordings, its sign-offs, the rule in force
              and a pack: how many are shown as vetted, or taken in (must be none)
    kills     a process that takes a pack in is killed (SIGKILL) at random moments, then
              the next command runs: all of the pack or none (must be never half)
    checks    seconds to tell how 500 pages stand, two sign-offs each

Each prints a line; the status is 1 when what must be none is not. `--json FILE`.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.cards.template import fresh_card
from bot.club.envelope import write
from bot.club.pack import Pack, PackError, read_pack, write_pack
from bot.club.rule import Reviewer, reviewer_said
from bot.club.signoff import KIND, Said, SignOff, write_signoff
from bot.desk import packing, taking, vetting
from bot.desk.club import Club, founded, join, rules_at
from bot.desk.packing import Wanted
from bot.store import changes
from bot.store.clock import today
from bot.store.keys import Key, make_key

PAGES = 60
CLUB = "Marram Coast Truck Club"
VETTED = ("vetted", "vetted, check overdue")


def main() -> int:
    """Run one of them."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", choices=[*_RUNS, "child"])
    parser.add_argument("--many", type=int, default=0, help="how often")
    parser.add_argument("--json", metavar="FILE")
    parser.add_argument("folders", nargs="*", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.what == "child":
        return _take_in(*asked.folders)
    run, many = _RUNS[asked.what]
    with tempfile.TemporaryDirectory() as folder:
        found = run(Path(folder), asked.many or many)
    print("  ".join(f"{name} {value}" for name, value in found.items()))
    if asked.json:
        Path(asked.json).write_text(json.dumps(found, indent=1))
    return int(bool(found.get("wrong")))


def a_page(number: int) -> bytes:
    """A page of a title of its own."""
    text = fresh_card(system="brakes").replace("share: private", "share: club")
    return text.replace("The complaint in one line", f"Complaint {number}").encode()


def a_kb(root: Path, many: int) -> str:
    """A knowledge base of so many pages."""
    folder = root / "cards" / "brakes"
    folder.mkdir(parents=True)
    for number in range(many):
        (folder / f"page-{number}.md").write_bytes(a_page(number))
    return str(root)


def two_of_them(root: Path, many: int) -> tuple[Club, Club, Key, Key]:
    """Moss and Wren, both reviewers; two are needed; the first page is vetted."""
    homes = [root / "moss-home", root / "wren-home"]
    for home in homes:
        home.mkdir()
    keys = [make_key(str(home), "four words of my own") for home in homes]
    moss = vetting.begin(
        a_kb(root / "moss", many), str(homes[0]), CLUB, "Moss", keys[0]
    )
    line = reviewer_said(Reviewer("Wren", keys[1].public))
    vetting.admit(moss, line, (), keys[0])
    moss.catch_up()
    vetting.need(moss, 2, (), keys[0])
    shutil.copytree(root / "moss", root / "wren")
    kb = str(root / "wren")
    wren = join(kb, str(homes[1]), founded(rules_at(kb)), "Wren")
    vetting.agree(wren, "", keys[1])
    wren.catch_up()
    return moss, wren, keys[0], keys[1]


def signed(club: Club, page: str, keys: tuple[Key, ...]) -> None:
    """Sign-offs of some keys under a page, as files."""
    memory, rule = club.known()
    text = club.standings.text(page)
    assert text is not None
    word = SignOff(
        memory.club, page, 1, text.bytes, Said.VETTED, today(), vetting.NO_DATE
    )
    for key in keys:
        data = write(key.sign(KIND, write_signoff(word)))
        name = f"{sha256(data).hexdigest()[:12]}.{key.id[:12]}.json"
        path = Path(club.kb, "club", "sign-offs", page[:-3], name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    assert rule.needed() == len(keys)


def _changes(root: Path, many: int) -> dict[str, object]:
    _, club, moss, wren = two_of_them(root, 2)
    page, draw = "cards/brakes/page-0.md", random.Random(1)
    Path(club.kb, page.replace(".md", ".wordings.txt")).write_text("## x\n- y\n")
    signed(club, page, (moss, wren))
    assert club.standings.of(page).state.value in VETTED
    made = packing.pack(club, Wanted([page], passed="looked through"), wren)
    files = [p for p in Path(club.kb).rglob("*") if p.is_file()]
    own = [p for p in files if page[:-3] in str(p)]
    own += [*Path(club.home, "club").glob("rule-*.txt")]
    wrong = refused = 0
    for _ in range(many):
        path = draw.choice([*own, None])
        if path is None:
            refused += 1
            wrong += _is_taken(_changed(made.data, draw))
            continue
        good = path.read_bytes()
        path.write_bytes(_changed(good, draw))
        wrong += Club(club.kb, club.home).standings.of(page).state.value in VETTED
        path.write_bytes(good)
    assert Club(club.kb, club.home).standings.of(page).state.value in VETTED
    return {"changes": many, "of packs": refused, "wrong": wrong}


def _changed(data: bytes, draw: random.Random) -> bytes:
    """The same with a few bytes other, gone, doubled, or more."""
    at, length = draw.randrange(len(data)), draw.choice([1, 1, 1, 4, 40])
    piece = data[at : at + length]
    other = draw.choice(
        [
            bytes(byte ^ draw.randrange(1, 256) for byte in piece),
            b"",
            piece + piece,
            draw.randbytes(length) + piece,
        ]
    )
    found = data[:at] + other + data[at + length :]
    return found if found != data else data + b"x"


def _is_taken(data: bytes) -> bool:
    try:
        read_pack(data)
    except PackError:
        return False
    return True


def _take_in(file: str, kb: str, home: str) -> int:
    """What a process does that may be killed."""
    club = Club(kb, home)
    looked = taking.look(club, read_pack(Path(file).read_bytes()))
    print("ready", flush=True)
    taking.take(club, looked)
    return 0


def _kills(root: Path, many: int) -> dict[str, object]:
    draw = random.Random(2)
    kb = a_kb(root / "kb", 3)
    files = {f"cards/brakes/page-{n}.md": a_page(n) for n in range(10, PAGES)}
    file = root / "a.pack"
    file.write_bytes(write_pack(Pack("none", 1, today(), dict(sorted(files.items())))))
    before = _tree(kb)
    home, longest = root / "home", _how_long(root, file, kb)
    ends = {"none of it": 0, "all of it": 0, "wrong": 0}
    for _ in range(many):
        for folder in (home, Path(kb)):
            shutil.rmtree(folder, ignore_errors=True)
        home.mkdir()
        a_kb(Path(kb), 3)
        child = _child(file, kb, home)
        time.sleep(draw.uniform(0, longest))
        with suppress(ProcessLookupError):
            os.kill(child.pid, signal.SIGKILL)
        child.wait()
        changes.recover(str(home))
        after = {name: data for name, data in _tree(kb).items() if ".new" not in name}
        after.pop("contents.txt", None)
        if after == before:
            ends["none of it"] += 1
        else:
            ends["all of it" if after == before | files else "wrong"] += 1
    return {"kills": many, **ends}


def _child(file: Path, kb: str, home: Path) -> subprocess.Popen[str]:
    """The process, as far as its first change."""
    command = [sys.executable, __file__, "child", str(file), kb, str(home)]
    child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    child.stdout.readline()
    return child


def _how_long(root: Path, file: Path, kb: str) -> float:
    """Seconds from the first change to the end."""
    home = root / "timed"
    home.mkdir()
    child = _child(file, kb, home)
    began = time.monotonic()
    child.wait()
    return time.monotonic() - began


def _tree(folder: str) -> dict[str, bytes]:
    found = (path for path in Path(folder).rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def _checks(root: Path, many: int) -> dict[str, object]:
    _, club, moss, wren = two_of_them(root, many)
    for number in range(many):
        signed(club, f"cards/brakes/page-{number}.md", (moss, wren))
    began = time.perf_counter()
    states = [row.standing.state.value for row in Club(club.kb, club.home).pages()]
    seconds = time.perf_counter() - began
    bare = time.perf_counter()
    subprocess.run([sys.executable, "-c", "pass"], check=True)
    bare = time.perf_counter() - bare
    return {
        "pages": many,
        "wrong": sum(state not in VETTED for state in states),
        "seconds": round(seconds, 3),
        "bare starts": round(seconds / bare, 1),
    }


_RUNS = {
    "changes": (_changes, 10_000),
    "kills": (_kills, 300),
    "checks": (_checks, 500),
}

if __name__ == "__main__":
    sys.exit(main())
