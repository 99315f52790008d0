"""Texts that mean harm, by seed: what `mutate` feeds to the readers."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

ESCAPES = (
    "\x1b]0;title\x07",
    "\x1b]52;c;aGk=\x07",
    "\x1b]8;;http://x\x1b\\link\x1b]8;;\x1b\\",
    "\x1b[2J",
    "\x1b[31m",
    "\x1bP+q\x1b\\",
    "\x1b_x\x1b\\",
    "\x1b",
    "\x9b31m",
    "\x9d0;x\x9c",
    "\x90q\x9c",
    "\x07",
    "\x08\x08",
    "\r",
    "\x7f",
)
"""OSC (title, clipboard, link), CSI, DCS, APC, a bare ESC, C1, BEL, BS, CR, DEL.
Source: ECMA-48 (control functions), from memory."""

UNSEEN = (
    "\u202e",
    "\u2066",
    "\u200b",
    "\u200d",
    "\ufeff",
    "\u00ad",
    "\u2028",
    "\u0085",
    "\u115f",
    "\u3164",
    "\U000e0041",
    "\ufe0f",
    "\ue000",
)
"""Turners of direction, joiners, blanks without width, tags, private letters."""

TOWER = "e" + "\u0301" * 1_000

SENTENCES = (
    "one hub hisses after I park, not the left one",
    "no brakes, pedal goes to the floor",
    "was 8.2 bar at first, 7,4 bar ten minutes later",
    "it dripped but the new one doesn't, at least I think so",
    "is it normal that it smokes white when cold?",
    "start=8.2bar end=7.4bar time=5min brakes=applied",
    "half past two, twenty two psi over two hours and a half",
    "yes but only when the engine idles; otherwise no",
)

CODES = (
    "(a+)+$",
    "{0.__class__} %s %n ${x} {{7*7}}",
    "'; DROP TABLE jobs; --",
    "../../../../etc/passwd",
    "<script>alert(1)</script>",
    "[@click=app.quit]x[/] [bold] [/x]",
    "---\nkind: fault\n---\n# x\n",
    "a: &a [*a]",
    "!!python/object/apply:os.system [x]",
    "=cmd|'/c x'!A1",
    "NaN inf -inf 1e999 0x10 1_000 ١٢٣ ²³ ½ Ⅻ",
)


AGAIN = (
    *("a", "9", " ", "\n", "\t", "(", "[", "{", "*", "'", '"', "-", ".", ",", "=", "$"),
    *(
        "> ",
        "not ",
        "no ",
        "1 ",
        "1.",
        "a.",
        "a-",
        "a'",
        "&a ",
        "[a](",
        "**a ",
        "a=",
        "| ",
    ),
    *("nineteen ", "half ", "and ", "brake ", "- ", "1. ", "# ", "a: ", "+-", "2026-"),
    *("<a ", "\u0301", "\u200d", "\u00df", "\u0130", "\ufdfa"),
)
"""What patterns that go back die of, when it is said again and again."""


def _letters(lots: random.Random) -> str:
    """Any letters at all, halves of pairs among them."""
    return "".join(chr(lots.randrange(0x110000)) for _ in range(lots.choice((5, 900))))


def _controls(lots: random.Random) -> str:
    signs = (*ESCAPES, *UNSEEN, "a", " ", "brake", "\n", "\x00", "\ud800", "\udfff")
    return "".join(lots.choice(signs) for _ in range(lots.choice((3, 300))))


def _towers(lots: random.Random) -> str:
    return " ".join(TOWER for _ in range(lots.choice((1, 30))))


def _repeated(lots: random.Random) -> str:
    """One sign or word again and again: what patterns that go back die of."""
    sign = lots.choice(AGAIN)
    sizes = (100, 2_000, 20_000, 1_000_000)
    return sign * (lots.choice(sizes) // len(sign)) + lots.choice(("", "!", "x", "\n"))


def _figures(lots: random.Random) -> str:
    digits = "9" * lots.choice((1, 7, 400, 5_000, 100_000))
    forms = (
        "{} bar",
        "-{}",
        "0.{}",
        "{}e{}",
        "1/{} in",
        "{0},{0}",
        "start={} end=1bar",
    )
    unit = lots.choice(("", " bar", "psi", " min", "%", " V", "mm"))
    return lots.choice(forms).format(digits, digits) + unit


def _code(lots: random.Random) -> str:
    return lots.choice(CODES) * lots.choice((1, 1, 50))


def _sentence(lots: random.Random) -> str:
    """A real sentence with some of its letters changed, doubled or gone."""
    letters = list(lots.choice(SENTENCES))
    for _ in range(lots.choice((0, 1, 3, 9))):
        at = lots.randrange(len(letters))
        letters[at] = lots.choice(("", letters[at] * 2, *UNSEEN, *ESCAPES, ".", "9"))
    return "".join(letters) * lots.choice((1, 1, 1, 40, 4_000))


KINDS: tuple[Callable[[random.Random], str], ...] = (
    _letters,
    _controls,
    _towers,
    _repeated,
    _repeated,
    _figures,
    _code,
    _sentence,
)


def text(lots: random.Random) -> str:
    """A text that means harm."""
    return lots.choice(KINDS)(lots)


def damaged(page: str, lots: random.Random) -> str:
    """A page with hostile text put into some of its lines, or in their place."""
    lines = page.split("\n")
    for _ in range(lots.choice((1, 2, 5))):
        at = lots.randrange(len(lines))
        within = lots.randrange(len(lines[at]) + 1)
        new = text(lots)
        kept = lots.random() < 0.5
        lines[at] = lines[at][:within] + new + lines[at][within:] if kept else new
    return "\n".join(lines)
