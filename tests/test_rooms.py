"""The map of the house: which room may import which, and what stays outside."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

BOT = Path(__file__).parent.parent / "bot"

MAY_IMPORT = {
    "units": "",
    "language": "units model",
    "model": "units",
    "calc": "units model",
    "cards": "units model calc",
    "match": "units model language",
    "diagnose": "units model calc",
    "paper": "model cards diagnose",
    "club": "units model cards",
    "job": "model diagnose",
    "talk": "units model language calc match diagnose job",
    "store": "model language match job club",
    "desk": "units model language calc cards match diagnose paper job club talk store",
    "tui": "model talk desk store",
    "cli": "units model language calc cards match paper job club talk store desk tui",
}
PURE = (
    "units",
    "language",
    "model",
    "calc",
    "cards",
    "match",
    "diagnose",
    "paper",
    "job",
    "club",
    "talk",
)
OUTSIDE = {
    "asyncio",
    "datetime.now",
    "io",
    "os",
    "pathlib",
    "random",
    "rich",
    "socket",
    "sqlite3",
    "subprocess",
    "textual",
    "time",
}
THIRD_PARTY = {
    "cards": {"yaml", "markdown_it"},
    "language": {"rapidfuzz"},
    "club": {"rapidfuzz"},
    "match": {"rapidfuzz"},
    "tui": {"textual", "rich"},
    "store": {"platformdirs", "cryptography"},
}
STANDARD = set(sys.stdlib_module_names)


def files_of(room: str) -> list[Path]:
    module = BOT / f"{room}.py"
    return [module] if module.exists() else sorted((BOT / room).rglob("*.py"))


def imports(room: str) -> Iterator[str]:
    for path in files_of(room):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{path}: write absolute imports"
                yield from (
                    f"{node.module}.{alias.name}"
                    if node.module == "bot"
                    else str(node.module)
                    for alias in node.names
                )


def test_every_room_is_on_the_map() -> None:
    rooms = {p.stem for p in BOT.iterdir() if not p.name.startswith("_")}
    assert rooms - {"kb", "py", "least"} == set(MAY_IMPORT)  # pages, no code


@pytest.mark.parametrize("room", MAY_IMPORT)
def test_room_imports_only_what_the_map_allows(room: str) -> None:
    allowed = {room, *MAY_IMPORT[room].split()}
    for name in imports(room):
        top, *rest = name.split(".")
        if top == "bot":
            assert rest[0] in allowed, f"{room} imports {name}"
        elif top not in STANDARD:
            assert top in THIRD_PARTY.get(room, set()), f"{room} imports {name}"


@pytest.mark.parametrize("room", PURE)
def test_pure_room_knows_no_disk_no_clock_and_draws_no_lots(room: str) -> None:
    for name in imports(room):
        assert name.split(".")[0] not in OUTSIDE, f"{room} imports {name}"


def test_pure_rooms_load_neither_screen_nor_database() -> None:
    modules = ", ".join(
        ".".join(path.relative_to(BOT.parent).with_suffix("").parts)
        for room in PURE
        for path in files_of(room)
    )
    code = f"import sys, {modules}; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert not {b"textual", b"sqlite3", b"rich"} & set(run.stdout.split())


def test_package_files_hold_one_line_and_no_code() -> None:
    for path in BOT.rglob("__init__.py"):
        body = ast.parse(path.read_text()).body
        assert len(body) == 1, path
        assert isinstance(body[0], ast.Expr), path
