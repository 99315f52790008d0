"""A caution says what the hazard is, what it does, and how to avoid it."""

import re
from collections.abc import Iterable, Iterator

from bot.model.card import Block, Caution
from bot.model.place import Fault

_SENTENCE = re.compile(r"[.!?](?:\s|$)")


def lint_cautions(blocks: Iterable[Block]) -> Iterator[Fault]:
    """Cautions that are too short to help."""
    for block in blocks:
        if isinstance(block, Caution):
            yield from lint_caution(block)


def lint_caution(caution: Caution) -> Iterator[Fault]:
    """A caution that does not say hazard, harm and how to avoid it."""
    if len(_SENTENCE.findall(caution.text)) < 3:
        yield Fault(
            caution.place,
            "caution is too short; write three sentences: the hazard, what it does to "
            "you, how to avoid it",
        )
