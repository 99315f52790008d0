"""How far the reading of pages is, on a terminal where somebody waits for it."""

import sys

FEW = 20
"""So few files are read before anybody wonders. Our choice."""

STEP = 5


def reading(done: int, of: int) -> None:
    """Say how many files are read, over the same line; nothing at the end."""
    stream = sys.__stderr__
    if of < FEW or stream is None or not stream.isatty():
        return
    if done == of:
        over("")
    elif done % STEP == 0:
        over(f"Pages read: {done} of {of}; Ctrl+C stops")


def over(text: str) -> None:
    """Write words of ours over the line; the guard would let none be written over."""
    stream = sys.__stderr__
    if stream:
        stream.write(f"\r\x1b[K{text}\r")
        stream.flush()
