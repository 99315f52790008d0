"""How many printed sides each page takes: `python tools/paper.py [--json FILE]`.

Sets every page as `chock print --html` does and prints it to PDF in a headless browser
(chromium), on A4; counts sides with and without the stop rules it leads to. Prints the
longest first, the median and the worst.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.cards.lesser import read_procedure
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.model.rule import StopRule
from bot.paper import sheet
from bot.paper.html import set_html

A4 = "<style>@page { size: A4 }</style></head>"
_SIDE = re.compile(rb"/Type\s*/Page\b")


def sides(html: str, browser: str, folder: Path) -> int:
    """The sides that some HTML takes when it is printed on A4."""
    page, out = folder / "page.html", folder / "page.pdf"
    page.write_text(html.replace("</head>", A4), encoding="utf-8")
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [browser, *flags, f"--print-to-pdf={out}", page.as_uri()],
        check=True,
        capture_output=True,
    )
    return len(_SIDE.findall(out.read_bytes()))


def count(kb: Path, browser: str, folder: Path) -> dict[str, tuple[int, int]]:
    """The sides of each page by id: alone, and with the stop rules it leads to."""
    found = (read_rule(p.read_text(), p.name) for p in kb.glob("stop-rules/*.md"))
    rules = [rule for rule in found if isinstance(rule, StopRule)]
    told: dict[str, tuple[int, int]] = {}
    for path in sorted(kb.glob("cards/*/*.md")):
        card = read_card(path.read_text(encoding="utf-8"), path.name)
        if isinstance(card, Card) and not card.is_stub:
            bare = set_html(sheet.page(card), card.title)
            whole = set_html(sheet.page(card, rules), card.title)
            alone, both = (sides(text, browser, folder) for text in (bare, whole))
            told[card.id] = alone, both
    for path in sorted(kb.glob("procedures/*.md")):
        held = read_procedure(path.read_text(encoding="utf-8"), path.name)
        if isinstance(held, Procedure):
            bare = set_html(sheet.procedure(held), held.title)
            alone = sides(bare, browser, folder)
            told[held.id] = alone, alone
    return told


def main() -> None:
    """Print every page and count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kb", type=Path, default=ROOT / "kb")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        raise SystemExit("no chromium here; install it to count printed sides")
    with tempfile.TemporaryDirectory() as folder:
        told = count(asked.kb, browser, Path(folder))
    if not told:
        raise SystemExit("no page here that can be read; 'chock lint' tells why")
    for name, (one, other) in sorted(told.items(), key=lambda row: -row[1][0]):
        print(f"{name:32}{one:4} sides,{other:4} with its stop rules")
    alone = [one for one, _ in told.values()]
    print(f"median {median(alone):g}, worst {max(alone)}")
    if asked.json:
        asked.json.write_text(json.dumps(told, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
