"""What a maintainer and a first user run: start, and the wheel."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parent.parent
TOOLS = ROOT / "tools"


def test_missing_venv_module_is_said_in_one_line_with_the_package() -> None:
    code = (
        "import runpy, sys; sys.modules['ensurepip'] = None; "
        f"sys.path.insert(0, {str(TOOLS)!r}); "
        f"runpy.run_path({str(TOOLS / 'start.py')!r}, run_name='__main__')"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "apt install python3" in done.stderr
    assert done.stderr.count("\n") == 1


def test_too_old_a_python_is_said_in_one_line() -> None:
    code = (
        "import sys; sys.version_info = (3, 9, 1, 'final', 0); "
        f"sys.path.insert(0, {str(TOOLS)!r}); import environment; environment.ready()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "needs Python 3.11 or newer" in done.stderr


def test_wheel_carries_the_knowledge_base(tmp_path: Path) -> None:
    """Built without the network: the build back end is among the test packages."""
    from hatchling.builders.wheel import WheelBuilder

    built = next(WheelBuilder(str(ROOT)).build(directory=str(tmp_path)))
    names = set(zipfile.ZipFile(built).namelist())
    for page in (ROOT / "kb").rglob("*"):
        if page.is_file():
            assert f"bot/kb/{page.relative_to(ROOT / 'kb').as_posix()}" in names
    assert "bot/cli/main.py" in names
