"""Fresh pages that read without a fault of grammar, for an author to fill."""

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
- what is seen
- what is heard
- when it happens

## Causes

{how_to_strike}

- **A** First cause (usual): [repair 1](#1-mend-the-first)
- **B** Second cause (rare): [repair 2](#2-mend-the-second)

## Checks

### 1. Look at the first thing

*5 min; tools: torch; truck: engine off, wheels chocked*

1. Do this.
2. Look at that.

- Yes, it is wet: likely A. Then [repair 1](#1-mend-the-first).
- No, it is dry: tells nothing.

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

## If nothing was found

What to note, which page or procedure comes next, whom to call.

## Sources

- no figures: common-practice.
"""

_PROCEDURE = """\
---
kind: procedure
system: {system}
share: private
check-by: {check_by}
authors:
  - pen name
---

# The job in one line

**May it move:** do not move.

What the job is for, in one to three sentences.

## When you need it

- how one person asks for it
- how another asks for it
- when it is needed

## Steps

### 1. The first thing to do

*10 min; tools: spanners; truck: engine off, wheels chocked*

1. Do this.

### 2. The second thing to do

*10 min; truck: engine off, wheels chocked*

1. Do that.

## Done when

What shows that it is done right.

## Sources

- no figures: common-practice.
"""

_STUB = """\
---
kind: stub
system: {system}
share: private
check-by: {check_by}
authors:
  - pen name
---

# The complaint in one line

**May it move:** do not move.

What to do until there is a page.

## What people notice

- how one person says it
- how another says it
- what is seen
"""

_NOTE = """\
---
kind: field note
about: {about}
seen: {seen}
share: private
authors:
  - pen name
---

# What you saw, in one line

Which truck, what you saw, what you did, what came of it.
"""

_RULE = """\
---
kind: stop rule
question: Is the danger there now?
signs:
{signs}
share: private
check-by: {check_by}
authors:
  - pen name
---

# The danger in a few words

**May it move:** do not move.

> **DANGER** The hazard of this. What this does to you. How to avoid this.

## Do now

1. Stop.

## Call for help when

When to call.

## Who decides

Who may say that it is over.

## Sources

- no figures: common-practice.
"""

CHECK_BY = date(2028, 11, 30)

TEMPLATE = "template.md"
"""What the template would be called as a file."""


def fresh_card(check_by: date = CHECK_BY, system: str = SYSTEMS[0]) -> str:
    """The text of a fresh fault page; its file's name will be its id.

    >>> fresh_card().splitlines()[1]
    'kind: fault'
    """
    return _TEMPLATE.format(
        check_by=check_by.isoformat(), how_to_strike=HOW_TO_STRIKE, system=system
    )


def fresh_procedure(check_by: date = CHECK_BY, system: str = SYSTEMS[0]) -> str:
    """The text of a fresh procedure."""
    return _PROCEDURE.format(check_by=check_by.isoformat(), system=system)


def fresh_stub(check_by: date = CHECK_BY, system: str = SYSTEMS[0]) -> str:
    """The text of a fresh stub."""
    return _STUB.format(check_by=check_by.isoformat(), system=system)


def fresh_note(seen: date = CHECK_BY, about: str = "my-page") -> str:
    """The text of a fresh field note about a page."""
    return _NOTE.format(seen=seen.isoformat(), about=about)


def fresh_rule(check_by: date = CHECK_BY) -> str:
    """The text of a fresh stop rule."""
    signs = "\n".join(f"  - one way to say it, {n}" for n in range(1, 11))
    return _RULE.format(check_by=check_by.isoformat(), signs=signs)
