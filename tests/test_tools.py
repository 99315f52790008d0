"""The wheel."""

import zipfile
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_wheel_carries_the_knowledge_base(tmp_path: Path) -> None:
    """Built without the network: the build back end is among the test packages."""
    from hatchling.builders.wheel import WheelBuilder

    built = next(WheelBuilder(str(ROOT)).build(directory=str(tmp_path)))
    names = set(zipfile.ZipFile(built).namelist())
    for page in (ROOT / "kb").rglob("*"):
        if page.is_file():
            assert f"bot/kb/{page.relative_to(ROOT / 'kb').as_posix()}" in names
    assert {"bot/cli/main.py", "bot/store/english.txt"} <= names
