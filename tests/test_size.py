"""The house stays small: no function over 50 lines, no module over 400."""

from pathlib import Path

from tests.tooling import tool

ROOT = Path(__file__).parent.parent


def test_nothing_has_outgrown_the_house() -> None:
    assert tool("size").refused(ROOT / "bot") == []


def test_overlong_function_is_seen(tmp_path: Path) -> None:
    (tmp_path / "bot").mkdir()
    body = "\n".join(f"    x = {n}" for n in range(60))
    (tmp_path / "bot" / "long.py").write_text(f"def f() -> None:\n{body}\n")
    assert "part it in two" in tool("size").refused(tmp_path / "bot")[0]
