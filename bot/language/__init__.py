"""Typed words read once: words, spelling, clauses, quantities, yes and no."""
