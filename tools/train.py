"""Train the ear of danger: `python tools/train.py [--check] [--hold FILE ...]`.

Reads every line beside the stop rules (`kb/stop-rules/*.wordings.txt`), and as harmless
talk the signs of the cards and how people say their findings; what is said of a finding
that leads to a stop rule is said of that rule. Weighs what `bot.match.danger.features`
sees in a line by a multinomial logistic regression (scipy, L-BFGS), and writes
`kb/stop-rules/ear.txt`. Without `--write` it only says how well
the ear does on lines left out in turn. `--hold FILE` (a list of `words` and `stop`) is
scored with the ear that was trained on all lines. Informational: nothing fails.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import yaml
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.wordings import COMPLAINT, Wordings, read_told, read_wordings
from bot.cards.words import read_words
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon
from bot.language.line import listen
from bot.match.danger import HARMLESS, MAYBE, SURE, features
from bot.model.card import Card, Finding
from bot.model.place import Fault
from bot.model.words import Words
from bot.store.scan import EAR, SIDE, WORDS

FEWEST = 3
"""A feature of fewer lines is left out."""

STRENGTH = 30.0
"""What the lines count beside the pull of all weights to 0."""

LEAST = 0.2
"""A weight nearer to 0 is not written down."""

FOLDS = 5

CARD_MASS = 0.2
"""What a line counts that comes from a card and not from beside a stop rule."""


@dataclass(frozen=True, slots=True)
class Line:
    """What is seen in a line, and the rule that it must raise; "-" for none."""

    words: str
    seen: dict[str, float]
    rule: str
    mass: float = 1.0


_LINKED = re.compile(r"/stop-rules/([a-z-]+)\.md")


def lexicon_of(kb: Path) -> Lexicon:
    """The lexicon of a knowledge base."""
    words = Words()
    for name in WORDS:
        found = read_words((kb / name).read_text(encoding="utf-8"), name)
        if isinstance(found, tuple):
            raise SystemExit("\n".join(map(str, found)))
        words += found
    return compiled(words)


def told_lines(kb: Path) -> list[Line]:
    """Every line beside the stop rules, and their own signs."""
    lexicon = lexicon_of(kb)
    found = []
    for path in sorted((kb / "stop-rules").glob("*" + SIDE)):
        rule = path.name.removesuffix(SIDE)
        for told in read_told(path.read_text(encoding="utf-8"), path.name):
            if isinstance(told, Fault):
                raise SystemExit(str(told))
            seen = features(listen(told.words, lexicon), lexicon)
            found.append(Line(told.words, seen, rule if told.is_danger else HARMLESS))
    for path in sorted((kb / "stop-rules").glob("*.md")):
        page = read_rule(path.read_text(encoding="utf-8"), path.name)
        if isinstance(page, tuple):
            raise SystemExit(str(page[0]))
        for sign in page.signs:
            seen = features(listen(sign, lexicon), lexicon)
            found.append(Line(sign, seen, page.id))
    return found


def card_lines(kb: Path, first: Model) -> list[Line]:
    """What people say of the cards' faults and findings, as the stop rules see it.

    What may be grave and has no stop rule of its own is left out, and so is a sign that
    already sounds like a rule that its card leads to.
    """
    lexicon = lexicon_of(kb)
    found: list[Line] = []
    for path in sorted(kb.glob("cards/*/*.md")):
        card = read_card(path.read_text(encoding="utf-8"), path.name)
        side = path.with_name(path.stem + SIDE)
        said = read_wordings(side.read_text(encoding="utf-8"), side.name)
        if isinstance(card, tuple) or isinstance(said, tuple):
            raise SystemExit(f"{path.name} has mistakes; run chock lint kb")
        leads = {_rule_of(f) for check in card.checks for f in check.findings}
        leads |= set(_LINKED.findall(path.read_text(encoding="utf-8")))
        signs = (*card.signs, *said.get(COMPLAINT, ()))
        told = [(sign, HARMLESS) for sign in signs]
        told = [pair for pair in told if _top(first, pair[0], lexicon) not in leads]
        told += _of_findings(card, said)
        for words, rule in told:
            seen = features(listen(words, lexicon), lexicon)
            found.append(Line(words, seen, rule, CARD_MASS))
    return found


def _of_findings(card: Card, said: Wordings) -> list[tuple[str, str]]:
    """The wordings of a card's findings, each with the rule that it must raise."""
    return [
        (words, _rule_of(finding) or HARMLESS)
        for check in card.checks
        for finding in check.findings
        if finding.stop or not finding.drive
        for words in said.get((check.id, finding.answer), ())
    ]


def _rule_of(finding: Finding) -> str:
    """The stop rule that a finding leads to, or nothing."""
    return finding.stop.target.rsplit("/", 1)[-1][:-3] if finding.stop else ""


def _top(model: Model, words: str, lexicon: Lexicon) -> str:
    """What a model takes words for."""
    chance = model.chances(features(listen(words, lexicon), lexicon))
    return max(chance, key=lambda name: chance[name])


@dataclass(slots=True)
class Model:
    """Weights by feature and class; the last row is what each class starts with."""

    names: list[str]
    classes: list[str]
    weights: np.ndarray

    def chances(self, seen: dict[str, float]) -> dict[str, float]:
        """The chance of each class."""
        place = {name: n for n, name in enumerate(self.names)}
        score = self.weights[-1].copy()
        for name, value in seen.items():
            if name in place:
                score += value * self.weights[place[name]]
        raw = np.exp(score - score.max())
        return dict(zip(self.classes, raw / raw.sum(), strict=True))


def train(lines: list[Line]) -> Model:
    """The weights that fit the lines best."""
    counts = Counter(name for line in lines for name in line.seen)
    names = sorted(name for name, n in counts.items() if n >= FEWEST)
    place = {name: n for n, name in enumerate(names)}
    classes = sorted({line.rule for line in lines})
    of = {rule: n for n, rule in enumerate(classes)}
    rows, columns, values = [], [], []
    for number, line in enumerate(lines):
        for name, value in (*line.seen.items(), ("", 1.0)):
            column = place.get(name, len(names) if not name else -1)
            if column >= 0:
                rows.append(number)
                columns.append(column)
                values.append(value)
    size = (len(lines), len(names) + 1)
    table = csr_matrix((values, (rows, columns)), shape=size)
    target = np.array([of[line.rule] for line in lines])
    share = Counter(target.tolist())
    even = np.array([(len(lines) / len(classes) / share[t]) ** 0.5 for t in target])
    mass = even * np.array([line.mass for line in lines])
    shape = (size[1], len(classes))

    def loss(flat: np.ndarray) -> tuple[float, np.ndarray]:
        weights = flat.reshape(shape)
        score = table @ weights
        score -= score.max(axis=1, keepdims=True)
        chance = np.exp(score)
        chance /= chance.sum(axis=1, keepdims=True)
        value = -(mass * np.log(chance[np.arange(len(lines)), target] + 1e-12)).sum()
        chance[np.arange(len(lines)), target] -= 1.0
        slope = table.T @ (chance * mass[:, None])
        pull = weights / STRENGTH
        return value + 0.5 * (pull * weights).sum(), (slope + pull).ravel()

    start = np.zeros(shape).ravel()
    done = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 120})
    return Model(names, classes, done.x.reshape(shape))


def figures(pairs: list[tuple[set[str], dict[str, float]]]) -> dict[str, float]:
    """Raised at once, asked, missed, false: shares. `pairs`: due rules, chances."""
    out: Counter[str] = Counter()
    for due, chance in pairs:
        danger = 1.0 - chance[HARMLESS]
        ranked = sorted((r for r in chance if r != HARMLESS), key=lambda r: -chance[r])
        band = "raised" if danger >= SURE else "asked" if danger >= MAYBE else "missed"
        if due:
            right = band != "missed" and bool(due & set(ranked[:2]))
            out["due"] += 1
            out[band if right else "missed"] += 1
        else:
            out["harmless"] += 1
            out[
                {"raised": "false_stop", "asked": "asked_needlessly"}.get(band, "")
            ] += 1
    dangers, peaceful = max(1, out["due"]), max(1, out["harmless"])
    return {
        **{name: out[name] / dangers for name in ("raised", "asked", "missed")},
        **{name: out[name] / peaceful for name in ("false_stop", "asked_needlessly")},
    }


def curve(pairs: list[tuple[set[str], dict[str, float]]]) -> str:
    """How many dangers and harmless lines lie above some bounds."""
    out = []
    for bound in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95):
        above = [(due, 1.0 - c[HARMLESS] >= bound) for due, c in pairs]
        danger = [hit for due, hit in above if due]
        peace = [hit for due, hit in above if not due]
        out.append(f"{bound}: {np.mean(danger):.3f}/{np.mean(peace):.3f}")
    return "  ".join(out)


def written(model: Model, digest: str, tool: str = "tools/train.py") -> str:
    """The file of an ear, and which tool made it."""
    lines = [f"## trained by {tool} from {digest}; do not edit"]
    for name, row in zip((*model.names, ""), model.weights, strict=True):
        kept = " ".join(
            f"{rule}={weight:.2f}"
            for rule, weight in zip(model.classes, row, strict=True)
            if abs(weight) >= LEAST or not name
        )
        if kept:
            lines.append(f"{name}\t{kept}")
    return "\n".join(lines) + "\n"


def digest_of(kb: Path) -> str:
    """What the ear was trained from, in a few letters."""
    found = hashlib.sha256()
    for path in sorted((kb / "stop-rules").glob("*" + SIDE)):
        found.update(path.read_bytes())
    return found.hexdigest()[:16]


def main() -> None:
    """Train, measure, write."""
    parser = argparse.ArgumentParser(description="Train the ear of danger.")
    parser.add_argument("--kb", type=Path, default=ROOT / "kb")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--folds", action="store_true")
    parser.add_argument("--hold", type=Path, nargs="*", default=[])
    args = parser.parse_args()
    lines = told_lines(args.kb)
    print(f"{len(lines)} lines, {sum(x.rule != HARMLESS for x in lines)} of danger")
    if args.folds:
        pairs = []
        for fold in range(FOLDS):
            model = train([x for n, x in enumerate(lines) if n % FOLDS != fold])
            left = [x for n, x in enumerate(lines) if n % FOLDS == fold]
            pairs += [({x.rule} - {HARMLESS}, model.chances(x.seen)) for x in left]
        print("left out in turn", json.dumps(figures(pairs)))
    lines += card_lines(args.kb, train(lines))
    print(f"{len(lines)} with what the cards say")
    model = train(lines)
    lexicon = lexicon_of(args.kb)
    for path in args.hold:
        rows = yaml.safe_load(path.read_text(encoding="utf-8"))
        pairs = [
            (
                set(r["stop"] or ()),
                model.chances(features(listen(r["words"], lexicon), lexicon)),
            )
            for r in rows
        ]
        print(path.name, json.dumps(figures(pairs)))
        print("   ", curve(pairs))
    if args.write:
        text = written(model, digest_of(args.kb))
        (args.kb / "stop-rules" / EAR).write_text(text, encoding="utf-8")
        print(f"wrote {text.count(chr(10))} features, {len(text)} letters")


if __name__ == "__main__":
    main()
