"""A fresh card that reads without a fault of grammar, for an author to fill."""

from datetime import date

from bot.cards.front import SYSTEMS
from bot.cards.read import HOW_TO_STRIKE

_TEMPLATE = """\
---
kind: fault
system: {system}
share: private
check-by: {check_by}
authors:
  - pen name
---

# The complaint in one line

**May it move:** drive with care.

What goes on inside the machine, in two to five sentences.

> **WARNING** The hazard. What it does to you. How to avoid it.

## What people notice

- how one person says it
- how another says it

## Causes

{how_to_strike}

- **A** First cause (usual): [repair 1](#1-mend-the-first)
- **B** Second cause (rare): [repair 2](#2-mend-the-second)

## Checks

### 1. Look at the first thing

*5 min; tools: torch; truck: engine off, wheels chocked*

1. Do this.
2. Look at that.

- Yes, it is wet: likely A; hardly the rest. Then [repair 1](#1-mend-the-first).
- No, it is dry: hardly A.

### 2. Look at the second thing

*5 min; truck: engine off, wheels chocked*

1. Do this.

- Yes, it moves: sure B. Then [repair 2](#2-mend-the-second).
- No, it is firm: not B.

## Repairs

### 1. Mend the first

*20 min; parts: a seal (cheap); tools: spanners; truck: engine off, wheels chocked; \
after: no limit*

1. Do this.

### 2. Mend the second

*30 min; tools: spanners; truck: engine off, wheels chocked; after: drive with care*

1. Do this.

## Proof

*30 min; truck: parked*

What to try, and how.

- Clean: what counts as cured.
- Not clean: what counts as not cured.

## Sources

- no figures: common practice, no source.
"""

CHECK_BY = date(2028, 11, 30)


TEMPLATE = "template.md"
"""What the template would be called as a file."""


def fresh_card(check_by: date = CHECK_BY, system: str = SYSTEMS[0]) -> str:
    """The text of a fresh card of a system; its file's name will be its id.

    >>> fresh_card().splitlines()[1]
    'kind: fault'
    """
    return _TEMPLATE.format(
        check_by=check_by.isoformat(), how_to_strike=HOW_TO_STRIKE, system=system
    )
