"""The screen on a real terminal: whatever is read or typed, it is given no orders."""

import json
import os
import sys
from io import StringIO
from pathlib import Path

import pytest

from bot.cli.main import main
from bot.store.chain import DIGEST, Line, write_head, write_line
from tests.ptys import letters, orders, shown, strings
from tests.test_guard import ESCAPES, raw
from tests.test_tui import CARD, RULE

MORE = (
    "\x1b_apc\x1b\\",
    "\x1b^pm\x1b\\",
    "\x90q\x9c",
    "\x07",
    "\x1bc",
    "\x1b[?1049l",
    "\x1b[6n",
    "\u2066",
)
"""APC, PM, DCS in one byte, BEL, a reset, leaving the screen, a question to the
terminal, bidi."""

PAYLOADS = (*ESCAPES, *MORE)
MARKUP = (
    "[Danger] [/x] [@click=app.quit]quit[/] [bold]b[/bold] [link=file:///x]y[/link]"
)
AT = "2026-11-25T10:00:00+00:00"


def chained(job: int, words: str) -> str:
    """A job's file as an enemy who knows the digests would write it."""
    said = json.dumps({"words": words, "candidates": [], "none": 1.0})
    rows = [write_head(job, AT, "0" * 16)]
    rows.append(write_line(rows[0][-DIGEST:], Line(1, True, AT, "Described", said)))
    return "".join(f"{row}\n" for row in rows)


def laid_out(folder: Path, payloads: tuple[str, ...]) -> tuple[Path, Path]:
    """A knowledge base and a store with a payload in all that a stranger may write."""
    kb, home = folder / "kb", folder / "home"
    cards = kb / "cards" / "air-supply"
    cards.mkdir(parents=True)
    (home / "jobs").mkdir(parents=True)
    (cards / "horn-weak.md").write_text(CARD.replace("Wear plugs", f"Wear {MARKUP}"))
    (kb / "stop-rules").mkdir()
    (kb / "stop-rules" / "horn-stuck.md").write_text(RULE)
    for nth, payload in enumerate(payloads):
        data = payload.encode("utf-8", "surrogatepass")
        (cards / f"page-{nth}.md").write_bytes(b"---\n# " + data + b"\n")
        name = os.fsencode(cards) + b"/n" + data.replace(b"/", b"").replace(b"\0", b"")
        Path(os.fsdecode(name + b".md")).write_text("x")
        (home / "jobs" / f"{nth + 2}.txt").write_text(chained(nth + 2, payload))
    (home / "jobs" / "1.txt").write_text(chained(1, "".join(payloads)))
    note = json.dumps("".join(payloads).replace("\ud800", ""))
    (home / "trucks").mkdir(exist_ok=True)
    (home / "trucks" / "heron.yaml").write_text(f"name: {note}\nfitted:\n  - {note}\n")
    return kb, home


def pasted(words: str) -> bytes:
    data = words.encode("utf-8", "surrogatepass")
    return b"\x1b[200~" + data + b"\x1b[201~\r"


def session(folder: Path, payloads: tuple[str, ...]) -> str:
    kb, home = laid_out(folder, payloads)
    bare = "x".join(payload for payload in payloads if "\x1b" not in payload)
    some = [" ".join(payloads[n : n + 6]) for n in range(0, len(payloads), 6)]
    typed = [b"new\r", *(pasted(f"horn {each} croaks") for each in some)]
    typed += [f"{bare}x\r".encode("utf-8", "surrogatepass")]
    typed += [pasted("the horn croaks"), b"\r", b"1\r", b"\r", b"\r", b"why\r", b"\r"]
    return shown(kb, home, typed)


def test_nothing_foreign_reaches_a_real_terminal(tmp_path: Path) -> None:
    harmless = session(tmp_path / "one", tuple("x" * len(p) for p in PAYLOADS))
    hostile = session(tmp_path / "two", PAYLOADS)
    assert "Say what you see" in letters(harmless)
    assert strings(hostile) <= strings(harmless)
    assert orders(hostile) <= orders(harmless)
    for text in (harmless, hostile):
        assert raw(letters(text).replace("\r", "")) == set()
        assert "Traceback" not in text
        assert not {s for s in strings(text) if s.startswith(("\x1b]52", "\x1b]8"))}


def test_markup_of_a_page_and_of_words_is_shown_letter_for_letter(
    tmp_path: Path,
) -> None:
    kb, home = laid_out(tmp_path, ())
    for path in (home / "jobs").iterdir():
        path.unlink()
    (home / "trucks" / "heron.yaml").unlink()
    words = f"the horn croaks {MARKUP}"
    keys = [words.encode() + b"\r", b"\r", b"1\r", b"\r", b"\r"]
    text = shown(kb, home, keys, (60, 160))
    assert letters(text).count("[@click=app.quit]quit[/]") >= 2
    for sign in MARKUP.split(" "):
        assert sign in letters(text)
    assert "Traceback" not in text


@pytest.mark.parametrize(
    "words",
    [
        ("jobs",),
        ("jobs", "1"),
        ("jobs", "--json"),
        ("jobs", "1", "--json"),
        ("jobs", "check"),
        ("truck",),
        ("truck", "--json"),
        ("cards", "--json"),
        ("print", "all"),
        ("print", "all", "--html"),
        ("talk", "--job", "1"),
    ],
    ids=" ".join,
)
def test_what_strangers_left_in_files_comes_out_plain(
    words: tuple[str, ...],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    kb, home = laid_out(tmp_path, PAYLOADS)
    typed = "\n".join((*(p.replace("\n", "") for p in PAYLOADS), "why", "quit"))
    monkeypatch.setattr(sys, "stdin", StringIO(typed))
    main(["--kb", str(kb), "--home", str(home), *words])
    said = capsys.readouterr()
    assert raw(said.out + said.err) == set()
    assert "Traceback" not in said.err
    if "--json" in words and said.out:
        json.loads(said.out)


def test_html_has_no_script_no_foreign_link_and_no_file_of_ones_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "kb" / "cards" / "air-supply"
    folder.mkdir(parents=True)
    (tmp_path / "kb" / "secret.jpg").write_bytes(b"SECRET")
    bad = (
        "Read [this](https://evil.example/x) & <5 bar.",
        "Read [this](//evil.example).",
        "Read [that](javascript:x) and [that](data:text/html;x).",
        "![x](../../secret.jpg)",
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
    )
    shown_pages = 0
    for nth, said in enumerate(bad):
        page = CARD.replace("Call the club.", said)
        (folder / f"horn-{nth}.md").write_text(page)
        main(["--kb", str(tmp_path / "kb"), "print", f"horn-{nth}", "--html"])
        html = capsys.readouterr().out
        shown_pages += bool(html)
        for sign in (
            "<script",
            "<img",
            "onerror=",
            'href="http',
            'href="//',
            'href="j',
        ):
            assert sign not in html
        assert "data:" not in html.replace("data:text/html;x", "")
    assert shown_pages == 2
