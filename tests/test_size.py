"""The house stays small: no function over 50 lines, no module over 400."""

import importlib.util
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parent.parent


def size_tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("size", ROOT / "tools" / "size.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_nothing_has_outgrown_the_house() -> None:
    assert size_tool().refused(ROOT / "bot") == []


def test_overlong_function_is_seen(tmp_path: Path) -> None:
    (tmp_path / "bot").mkdir()
    body = "\n".join(f"    x = {n}" for n in range(60))
    (tmp_path / "bot" / "long.py").write_text(f"def f() -> None:\n{body}\n")
    assert "part it in two" in size_tool().refused(tmp_path / "bot")[0]
