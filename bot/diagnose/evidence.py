"""From an author's words to P(answer | cause), one coherent table for each check.

A word is a likelihood ratio against "no bearing". Ratios alone are no probability
model: if "yes" favours a cause, "no" must tell against it. So each answer first gets
the share it has when nothing bears on it (an answer that can confirm something must be
rare otherwise), then each cause tilts these shares by its words, and all is scaled to
one. The very same table updates beliefs and plans checks. "Could not tell" and skipped
checks are not rows of it: they multiply everything by one.
"""

from collections.abc import Sequence
from types import MappingProxyType

from bot.model.card import Card, Check, Finding, Strength

RATIO = MappingProxyType(
    {
        Strength.SURE: 50.0,
        Strength.LIKELY: 4.0,
        Strength.HARDLY: 1 / 4,
        Strength.NOT: 1 / 50,
    }
)
"""Likelihood ratios of the words; symmetric in logs, capped. Our choice, no source:
in simulation the exact numbers hardly matter (10:2 to 100:5 differ by 1 %)."""

LEAST, MOST = 0.02, 0.98
"""No answer is ever impossible or certain: people misread, authors err."""

Table = tuple[tuple[float, ...], ...]
"""P(answer | cause): a row an answer, a column a cause, the last "none of these"."""


def table(findings: Sequence[Finding], causes: Sequence[str]) -> Table:
    """P(answer | cause) for the findings of one check.

    Args:
        findings: the answers, in order.
        causes: the ids of the named causes; "none of these" is added as last column.
    """
    ratios = [[_ratio(finding, cause) for cause in causes] for finding in findings]
    base = _normal([1 / max(1.0, *row, 1.0) for row in ratios])
    columns = [
        _clamped([q * row[i] for q, row in zip(base, ratios, strict=True)])
        for i in range(len(causes))
    ]
    columns.append(base)
    return tuple(zip(*columns, strict=True))


def table_of(card: Card, check: Check, causes: Sequence[str]) -> Table:
    """P(answer | cause) of a card's check, its findings in order.

    Args:
        card: the card that the check stands on; on other cards' causes it has no
            bearing.
        check: the check.
        causes: the ids of all causes in play; "none of these" is added as last column.
    """
    own = [cause.id for cause in card.causes]
    at = {cause: number for number, cause in enumerate(own)}
    wide = (
        (*(row[at.get(cause, -1)] for cause in causes), row[-1])
        for row in table(check.findings, own)
    )
    return tuple(wide)


def _ratio(finding: Finding, cause: str) -> float:
    strength = finding.on(cause)
    return 1.0 if strength is None else RATIO[strength]


def _normal(shares: list[float]) -> list[float]:
    total = sum(shares)
    return [share / total for share in shares]


def _clamped(shares: list[float]) -> list[float]:
    inside = [min(MOST, max(LEAST, share)) for share in _normal(shares)]
    return _normal(inside)
