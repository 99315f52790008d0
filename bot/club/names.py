"""Which files may lie in a club's knowledge base, by their paths in it, and how long.

Whatever comes from outside, in a pack or by git, is held against this before anything
is written: small ASCII letters, known folders, known endings, no name that a system
keeps for itself. No picture and no document: nobody can look through them for what may
not be passed on.
"""

import re

_NAME = r"[a-z0-9]+(?:-[a-z0-9]+)*"
_PAGE = rf"(?:cards/{_NAME}|procedures|stop-rules|notes)/{_NAME}"
_SIDED = rf"(?:cards/{_NAME}|procedures)/{_NAME}"
_DEVICE = r"[0-9a-f]{32}"
_SHORT = r"[0-9a-f]{12}"

PAGE = re.compile(rf"{_PAGE}\.md")
WORDINGS = re.compile(rf"{_SIDED}\.wordings\.txt")
LINES_OF_RULE = re.compile(rf"stop-rules/{_NAME}\.wordings\.txt")
"""What the ear of danger is trained by; chock itself does not read it."""

RULE = re.compile(rf"club/rules/[0-9]{{4}}\.{_SHORT}\.txt")
RULE_SIGNED = re.compile(rf"club/rules/[0-9]{{4}}\.{_SHORT}\.{_SHORT}\.json")
SIGN_OFF = re.compile(rf"club/sign-offs/{_PAGE}/{_SHORT}\.{_SHORT}\.json")
OUTCOMES = re.compile(rf"club/outcomes/{_DEVICE}\.txt")
FORGOTTEN = re.compile(rf"club/forgotten/{_DEVICE}\.txt")
REMARKS = re.compile(rf"club/remarks/{_PAGE}/{_DEVICE}\.txt")
ASIDE = re.compile(rf"club/aside/{_PAGE}\.{_SHORT}\.(?:md|txt)")

ASIDE_WHOLE = re.compile(rf"club/aside/{_NAME}\.{_SHORT}\.txt")
"""An edit of a file that a knowledge base has once, set aside; no pack holds it."""

APPENDED = (OUTCOMES, REMARKS)
"""Files to which one device appends, and nobody else writes."""

WRITTEN_ONCE = (RULE, RULE_SIGNED, SIGN_OFF, FORGOTTEN, ASIDE, ASIDE_WHOLE)
"""Files that are never changed."""

WHOLE = frozenset(
    {
        "words.yaml",
        "senses.yaml",
        "speech.yaml",
        "sources.yaml",
        "parts.yaml",
        "cautions.md",
        "contents.txt",
        "acts.txt",
        "acts.wordings.txt",
        "README.md",
        ".gitattributes",
        "stop-rules/ear.txt",
    }
)
"""What a knowledge base holds once: what all pages are read by. No pack holds it."""

_LENGTHS = (
    (PAGE, 64),
    (WORDINGS, 256),
    (RULE, 64),
    (RULE_SIGNED, 128),
    (SIGN_OFF, 16),
    (OUTCOMES, 4_096),
    (FORGOTTEN, 1),
    (REMARKS, 256),
    (ASIDE, 256),
)
"""Which files may come, and how many KiB each may have."""

MOST_WHOLE_KIB = 8_192
MOST_LETTERS = 200
_KEPT = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that one system keeps for itself, whatever stands behind their first stop."""


def in_pack(path: str) -> bool:
    """Whether a pack may hold a file of that path."""
    return _most_kib(path) > 0


def allowed(path: str) -> bool:
    """Whether a file of that path may lie in a shared knowledge base."""
    return most_bytes(path) > 0


def most_bytes(path: str) -> int:
    """How long a file of that path may be; 0 where it may not be at all."""
    once = LINES_OF_RULE.fullmatch(path) or ASIDE_WHOLE.fullmatch(path)
    is_whole = path in WHOLE or once
    return 1_024 * (MOST_WHOLE_KIB if is_whole else _most_kib(path))


def wordings_of(page: str) -> str:
    """The file beside a page that has its further wordings; "" where it has none.

    >>> wordings_of("cards/brakes/brake-drags.md"), wordings_of("stop-rules/on-fire.md")
    ('cards/brakes/brake-drags.wordings.txt', '')
    """
    beside = f"{stem(page)}.wordings.txt"
    return beside if WORDINGS.fullmatch(beside) else ""


def stem(path: str) -> str:
    """The path of a page or its wordings without the ending: what they have in common.

    >>> stem("cards/brakes/brake-drags.wordings.txt")
    'cards/brakes/brake-drags'
    """
    return path.removesuffix(".wordings.txt").removesuffix(".md")


def _most_kib(path: str) -> int:
    parts = path.split("/")
    if len(path) > MOST_LETTERS or any(_is_kept(part) for part in parts):
        return 0
    return next((kib for pattern, kib in _LENGTHS if pattern.fullmatch(path)), 0)


def _is_kept(part: str) -> bool:
    return bool(_KEPT.fullmatch(part.split(".")[0]))
