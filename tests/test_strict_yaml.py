"""The YAML reader: text stays text, and everything surprising is refused."""

import time

import pytest

from bot.cards.strict_yaml import Listing, Mapping, Text, parse
from bot.model.place import Fault

SPELLINGS = """
no yes on off null ~ 12:30 010 0x1F 24.10 1e3 1_000 2024-02-30 .inf -.5 +1 true 1,5 8.0
2028-11-30 =
"""


@pytest.mark.parametrize("spelling", SPELLINGS.split())
def test_scalar_comes_back_as_it_was_written(spelling: str) -> None:
    tree = parse(f"a: {spelling}", "x.yaml")
    assert isinstance(tree, Mapping)
    value = tree.get("a")
    assert isinstance(value, Text)
    assert value.value == spelling


def test_every_value_knows_its_line() -> None:
    tree = parse("a: 1\nb:\n  - x\n  - y\n", "x.yaml", 5)
    assert isinstance(tree, Mapping)
    listing = tree.get("b")
    assert isinstance(listing, Listing)
    assert [item.place.line for item in listing.items] == [7, 8]


REFUSED = [
    ("a: 1\na: 2", 2, "stands twice (first on line 1)"),
    ("a: &x 1\nb: *x", 1, "'&' or '*' is special"),
    ("a: !!python/object:os.system x", 1, "'!' is special"),
    ("a: !!bool maybe", 1, "'!' is special"),
    ("<<: {a: 1}", 1, "'<<' is not allowed"),
    ("a: [", 1, "not valid YAML"),
    ("a: b: c", 1, "not valid YAML"),
    ("? [a]\n: b", 1, "write a word"),
    ("a: 1\n---\nb: 2", 2, "a second '---'"),
    ("", 1, "empty"),
    ("a: " + "[" * 20 + "]" * 20, 1, "nested too deep"),
    ("a: x\x07y", 1, "hidden character U+0007"),
    ("a: x\n# n\u202eote", 2, "hidden character U+202E"),
    ("a: x\nb\ue000: y", 2, "hidden character U+E000"),
]


@pytest.mark.parametrize(("text", "line", "says"), REFUSED)
def test_surprise_is_refused_at_its_line(text: str, line: int, says: str) -> None:
    fault = parse(text, "x.yaml")
    assert isinstance(fault, Fault)
    assert says in fault.says
    assert fault.place.line == line


BOMBS = {
    "aliases": "a: &a [x,x]\nb: &b [*a,*a]\nc: [*b,*b]\n",
    "deep": "[" * 15_000,
    "long": "a: " + "x" * 100_000,
    "many": "a:\n" + "- x\n" * 4_050,
}


@pytest.mark.parametrize("bomb", BOMBS.values(), ids=BOMBS.keys())
def test_bomb_is_refused_at_once(bomb: str) -> None:
    start = time.perf_counter()
    assert isinstance(parse(bomb, "x.yaml"), Fault)
    assert time.perf_counter() - start < 2.0
