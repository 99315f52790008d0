"""Nothing that a terminal obeys comes out, whatever way it came in."""

import json
import os
import unicodedata
from contextlib import suppress
from pathlib import Path

import pytest

from bot.cli.guard import plain
from bot.cli.main import main
from tests.seeds import seed

ESCAPES = (
    "\x1b]0;title\x07",
    "\x1b]52;c;aGk=\x07",
    "\x1b]8;;http://x\x1b\\link\x1b]8;;\x1b\\",
    "\x1b[2J",
    "\x1b[31m",
    "\x1bP+q\x1b\\",
    "\x1b",
    "\x9b31m",
    "\x9d0;x\x9c",
    "\x00",
    "\x08\x08",
    "\r",
    "\x7f",
    "\u202e",
    "\u200b\ufeff",
    "\ud800",
)
"""OSC (title, clipboard, link), CSI, DCS, a bare ESC, C1, NUL, BS, CR, DEL, bidi,
unseen, half a pair. Source: ECMA-48 (control functions), from memory."""

WORDS = (
    ("ask", "hiss {}"),
    ("ask", "--json", "hiss {}"),
    ("hear", "hiss {}"),
    ("hear", "hiss", "--at", "{}"),
    ("hear", "hiss", "--options", "{}"),
    ("card", "{}"),
    ("card", "--json", "{}"),
    ("print", "{}"),
    ("print", "--html", "{}"),
    ("jobs", "{}"),
    ("jobs", "restore", "{}"),
    ("jobs", "backup", "/dev/null/{}"),
    ("lint", "{}"),
    ("new", "{}", "x", "brakes"),
    ("new", "fault", "{}", "brakes"),
    ("new", "fault", "x", "{}"),
    ("sum", "{}"),
    ("sum", "leak-rate", "{}=3"),
    ("sum", "leak-rate", "start={}"),
    ("truck", "name", "{}"),
    ("truck", "{}"),
    ("--kb", "/no/{}", "cards"),
    ("--home", "/dev/null/{}", "jobs"),
    ("talk", "--job", "{}"),
    ("screen", "--theme", "{}"),
    ("{}",),
    ("ask", "--top", "{}", "x"),
)


def raw(text: str) -> set[str]:
    """The characters that a terminal would obey, or nobody would see."""
    bad = ("Cc", "Cf", "Cs", "Co", "Cn")
    return {c for c in text if c != "\n" and unicodedata.category(c) in bad}


@pytest.fixture(autouse=True)
def places(tmp_path: Path, kb: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CHOCK_HOME", str(seed(tmp_path / "store")))
    monkeypatch.setenv("CHOCK_KB", str(kb))


@pytest.mark.parametrize("words", WORDS, ids=" ".join)
def test_arguments_come_out_plain(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    for escape in ESCAPES:
        bare = escape.replace("\x00", "").encode("utf-8", "surrogatepass")
        given = os.fsdecode(bare)  # as the system hands it over, which knows no NUL
        with suppress(SystemExit):
            main([word.format(given) for word in words])
        shown = capsys.readouterr()
        assert raw(shown.out + shown.err) == set(), repr(escape)
        assert "Traceback" not in shown.err


@pytest.mark.parametrize("where", ["title", "sign", "front", "name", "words", "rule"])
def test_files_come_out_plain(
    where: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for nth, escape in enumerate(ESCAPES):
        kb = tmp_path / f"kb-{nth}"
        text = "---\nkind: fault\nsystem: brakes\n{0}---\n\n# Title {1}\n\n- sign {2}\n"
        parts = {"front": 0, "title": 1, "sign": 2}
        said = ["", "", ""]
        if where in parts:
            said[parts[where]] = f"x{escape}: y\n" if where == "front" else escape
        folder = kb / "cards" / "brakes"
        folder.mkdir(parents=True)
        odd = escape if where == "name" and not set(escape) & set("\x00/") else ""
        name = os.fsdecode(f"a{odd}.md".encode("utf-8", "surrogatepass"))
        (folder / name).write_text(
            text.format(*said), encoding="utf-8", errors="replace"
        )
        if where == "words":
            (kb / "words.yaml").write_bytes(f"{escape}: [x]".encode("utf-8", "replace"))
        (kb / "stop-rules").mkdir()
        if where == "rule":
            page = kb / "stop-rules" / "r.md"
            page.write_bytes(f"# {escape}".encode("utf-8", "replace"))
        for command in ("ask", "cards", "lint"):
            main(["--kb", str(kb), command, *(("hiss",) if command == "ask" else ())])
            shown = capsys.readouterr()
            assert raw(shown.out + shown.err) == set(), (command, escape)


def test_json_stays_json(capsys: pytest.CaptureFixture[str]) -> None:
    main(["ask", "--json", "hiss \x1b[2J\ud800"])
    assert json.loads(capsys.readouterr().out)["words"] == "hiss "


@pytest.mark.parametrize("text", ["", "plain\n", "caf\u00e9 \u00bd \u65e5\u672c"])
def test_what_may_be_shown_is_left_as_it_is(text: str) -> None:
    assert plain(text) == text
