"""How big the house is, room by room, and whether anything outgrew its limits.

    python tools/size.py [--json FILE]

A function of over 50 code lines or a module of over 400 lines is refused.
"""

import argparse
import ast
import json
import sys
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MOST_FUNCTION, MOST_MODULE = 50, 400
MOST_HOUSE = 19_000
"""Code lines of bot/ altogether; raised only by a commit that says why. More than a
third are the trade's sums, which are mostly text: inputs, limits and sources."""


def main() -> int:
    """Print the table; 1 when a limit is passed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--json")
    asked = parser.parse_args()
    rooms = {name: measure(paths) for name, paths in rooms_of(ROOT / "bot").items()}
    house = sum(code for _, code, _, _ in rooms.values())
    rooms["tests"] = measure(sorted((ROOT / "tests").rglob("*.py")))
    rooms["tools"] = measure(sorted((ROOT / "tools").rglob("*.py")))
    print(
        f"{'room':10} {'modules':>7} {'code':>6} {'longest module':>15} {'function':>9}"
    )
    for name, (modules, code, module, function) in rooms.items():
        print(f"{name:10} {modules:7} {code:6} {module:15} {function:9}")
    print(f"bot/ altogether {house} code lines of {MOST_HOUSE}")
    wrong = refused(ROOT / "bot")
    for says in wrong:
        print(says)
    if asked.json:
        keys = ("modules", "code", "longest_module", "longest_function")
        figures = {n: dict(zip(keys, row, strict=True)) for n, row in rooms.items()}
        Path(asked.json).write_text(json.dumps(figures, indent=1) + "\n")
    return 1 if wrong or house > MOST_HOUSE else 0


def rooms_of(bot: Path) -> dict[str, list[Path]]:
    """The files of each room, by the room's name."""
    rooms: dict[str, list[Path]] = {}
    for path in sorted(bot.rglob("*.py")):
        name = path.relative_to(bot).parts[0].removesuffix(".py")
        if name != "__init__":
            rooms.setdefault(name, []).append(path)
    return rooms


def measure(paths: list[Path]) -> tuple[int, int, int, int]:
    """Modules, code lines, lines of the longest module, of the longest function."""
    texts = [path.read_text() for path in paths]
    functions = [size for text in texts for _, _, size in functions_in(text)]
    longest = max((text.count("\n") for text in texts), default=0)
    return len(paths), sum(map(code_lines, texts)), longest, max(functions, default=0)


def code_lines(text: str) -> int:
    """Lines that are neither blank, comment nor docstring."""
    quiet: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            quiet |= set(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    numbered = enumerate(text.splitlines(), 1)
    return filled(line for number, line in numbered if number not in quiet)


def filled(lines: Iterable[str]) -> int:
    """Lines that are neither blank nor comment."""
    return sum(bool(line.strip()) and line.strip()[0] != "#" for line in lines)


def functions_in(text: str) -> list[tuple[str, int, int]]:
    """Name, line and code lines without docstring of every function in a module."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = (
                text.splitlines()[body[0].lineno - 1 : node.end_lineno] if body else []
            )
            found.append((node.name, node.lineno, filled(lines)))
    return found


def refused(bot: Path) -> list[str]:
    """Everything in bot/ that is larger than the house allows."""
    out = []
    for path in sorted(bot.rglob("*.py")):
        text = path.read_text()
        shown = path.relative_to(bot.parent)
        if text.count("\n") > MOST_MODULE:
            out.append(f"{shown}: {text.count(chr(10))} lines; part it in two")
        out += [
            f"{shown}:{line} {name}: {size} lines; part it in two"
            for name, line, size in functions_in(text)
            if size > MOST_FUNCTION
        ]
    return out


if __name__ == "__main__":
    sys.exit(main())
