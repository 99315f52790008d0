"""What `chock lint --mend` writes: the cautions that belong above dangerous steps."""

import textwrap
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from bot.cards.contents import write_contents
from bot.cards.prose import parts_of
from bot.cards.write import write_card, write_procedure
from bot.desk.acts import Guard, acts_of, same
from bot.desk.upkeep import read
from bot.model.card import Act, Block, Card, Caution, Check, Needs, Proof, Repair
from bot.model.pages import Procedure, ProcedureStep
from bot.store.pages import contents_of, pages, shown, text_of
from bot.store.scan import CONTENTS

WIDTH = 90
"""Columns of a caution that is put in."""

MANY = 2
"""An act of so many steps has its caution once, in the opening."""

Held = TypeVar("Held", Card, Procedure)
Step = TypeVar("Step", Check, Repair, Proof, ProcedureStep)


def mend(kb: Path) -> Iterator[str]:
    """Put in each caution that a step names and that is missing, and make all equal.

    Gives what was done, a line a page. A page with mistakes of grammar is left alone.
    """
    guard = Guard(kb)
    for page in pages(kb):
        text = text_of(page)
        held = read(text, page) if isinstance(text, str) else None
        if isinstance(held, Card) and not held.is_stub:
            new = write_card(_card(held, guard))
        elif isinstance(held, Procedure):
            new = write_procedure(_procedure(held, guard))
        else:
            continue
        if new != text and new != _written(held):
            _replace(page.path, new)
            yield f"{page.shown}: cautions put in, or made equal"
    yield from _list_contents(kb)


def _list_contents(kb: Path) -> Iterator[str]:
    """Write anew what belongs to the knowledge base."""
    path = kb / CONTENTS
    new = write_contents(contents_of(kb))
    if not path.is_file() or path.read_text(encoding="utf-8", errors="replace") != new:
        _replace(path, new)
        yield f"{shown(path)}: written anew"


def _written(held: Card | Procedure) -> str:
    return write_card(held) if isinstance(held, Card) else write_procedure(held)


def _replace(path: Path, text: str) -> None:
    """Write a file so that a power cut leaves the old one or the new one."""
    beside = path.with_name(f".{path.name}.new")
    beside.write_text(text, encoding="utf-8", newline="\n")
    beside.replace(path)


def _card(card: Card, guard: Guard) -> Card:
    opening = _opening(card, guard)
    above = acts_of(opening)
    return replace(
        card,
        opening=opening,
        checks=tuple(_step(check, above, guard) for check in card.checks),
        repairs=tuple(_step(repair, above, guard) for repair in card.repairs),
        proof=_step(card.proof, above, guard),
    )


def _procedure(held: Procedure, guard: Guard) -> Procedure:
    opening = _opening(held, guard)
    above = acts_of(opening)
    steps = tuple(_step(step, above, guard) for step in held.steps)
    return replace(held, opening=opening, steps=steps)


def _opening(held: Card | Procedure, guard: Guard) -> tuple[Block, ...]:
    """The opening, with the cautions for what several steps do behind it."""
    wanting: Counter[Act] = Counter()
    for part in parts_of(held):
        here = acts_of(part.body)
        wanting.update(act for act in part.needs.does if act not in here)
    there = acts_of(held.opening)
    many = (act for act, n in wanting.items() if n >= MANY and act not in there)
    new = (guard.kept(act) for act in many)
    equal = tuple(_equal(block, guard) for block in held.opening)
    return (*equal, *(_wrapped(caution) for caution in new if caution))


def _step(step: Step, above: frozenset[Act], guard: Guard) -> Step:
    needs: Needs = step.needs
    there = above | acts_of(step.body)
    new = (guard.kept(act) for act in needs.does if act not in there)
    body: list[Block] = [_wrapped(caution) for caution in new if caution]
    body += (_equal(block, guard) for block in step.body)
    return replace(step, body=tuple(body))


def _equal(block: Block, guard: Guard) -> Block:
    if not isinstance(block, Caution) or block.act is None:
        return block
    kept = guard.kept(block.act)
    return block if kept is None or same(kept, block) else _wrapped(kept)


def _wrapped(caution: Caution) -> Caution:
    """A caution in lines of the width of a page."""
    act = f", {caution.act.value}" if caution.act else ""
    first = f"> **{caution.signal.value}{act}** "
    told = textwrap.wrap(caution.text, WIDTH, initial_indent=first)
    told[0] = told[0].removeprefix(first)
    return replace(caution, text="\n".join(told))
