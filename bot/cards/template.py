"""A fresh card that reads without a fault of grammar, for an author to fill."""

from datetime import date

_TEMPLATE = """\
---
id: {id}
title: The complaint in one line
system: tyre-inflation
signs:
  - how one person says it
  - how another says it
fits:
  - central tyre inflation
drive: drive with care
distribution: private
review-by: {review_by}
authors:
  - pen name
---

# The complaint in one line

What goes on inside the machine, in two to five sentences.

> **WARNING** The hazard. What it does to you. How to avoid it.

## Causes

- First cause (usual): [mend the first](#mend-the-first)
- Second cause (rare): [mend the second](#mend-the-second)

## Checks

### Look at the first thing

*5 min; tools: torch; truck: engine off, wheels chocked*

1. Do this.
2. Look at that.

- Yes, it is wet: points to first cause, points away from the rest. \
Next: [mend the first](#mend-the-first).
- No, it is dry: points away from first cause.

### Look at the second thing

*5 min; truck: engine off, wheels chocked*

1. Do this.

- Yes, it moves: confirms second cause. Next: [mend the second](#mend-the-second).
- No, it is firm: rules out second cause.

## Repairs

### Mend the first

*20 min; parts: a seal (cheap); tools: spanners; truck: engine off, wheels chocked; \
after: no limit*

1. Do this.

### Mend the second

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

REVIEW_BY = date(2028, 11, 30)


def fresh_card(card_id: str, review_by: date = REVIEW_BY) -> str:
    """The text of a fresh card with that id.

    >>> fresh_card("my-card").splitlines()[1]
    'id: my-card'
    """
    return _TEMPLATE.format(id=card_id, review_by=review_by.isoformat())
