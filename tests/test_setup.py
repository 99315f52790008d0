"""Setting up: killed, moved, outdated, two at once.

`tools/setupkill.py` does it in full. Here a stand-in of chock has an empty lock, and
environments are made by the real commands, but without pip, which is all that is slow.
"""

import json
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import environment
import pytest
from packaging.requirements import Requirement
from packaging.version import Version
from setupkill import COUNTED

ROOT = Path(__file__).parent.parent
PYTHON = f"{sys.base_prefix}/bin/python3"
SKIPPED = """
import sys
sys.path.insert(0, sys.argv[1] + "/tools")
import environment
run = environment._run
def quick(command):
    if "pip" not in command:
        run([*command, *["--without-pip"] * ("venv" in command)])
environment._run = quick
"""
REFUSED = """
def refused(command):
    raise environment.SetupError("no network")
environment._run = refused
"""
START = "import start; start.main()"
CHOCK = "def run() -> None:\n    print('answered')\n"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    place = tmp_path / "chock"
    for name in ("bot/__init__.py", "bot/store/__init__.py", "bot/store/lock.py"):
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, place / name)
    (place / "tools").mkdir()
    for name in ("environment.py", "start.py"):
        shutil.copy(ROOT / "tools" / name, place / "tools")
    (place / "tools" / "lock-run.txt").write_text("# nothing\n")
    (place / "bot" / "cli").mkdir()
    (place / "bot" / "cli" / "main.py").write_text(CHOCK)
    return place


def python(code: str, place: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [PYTHON, "-c", code, str(place), *words],
        capture_output=True,
        text=True,
        check=False,
        start_new_session=True,
    )


def started(place: Path, code: str = SKIPPED) -> str:
    """Start chock there, which must answer; what was said beside the answer."""
    done = python(code + START, place)
    assert done.stdout == "answered\n", done.stderr
    return done.stderr


def test_killed_at_any_point_the_same_command_works(project: Path) -> None:
    lines = int(python(SKIPPED + COUNTED, project, "0").stdout)
    assert lines > 60
    for point in range(lines // 6, lines, lines // 6):
        shutil.rmtree(project / ".venv", ignore_errors=True)
        died = python(SKIPPED + COUNTED, project, str(point))
        assert died.returncode == -9
        started(project)
        assert not list(project.glob(".venv-*"))


def test_killed_between_the_renames_the_old_one_comes_back(project: Path) -> None:
    started(project)
    (project / ".venv").rename(project / ".venv-old")
    (project / ".venv-part-1").mkdir()
    assert started(project, SKIPPED + REFUSED) == ""
    assert not list(project.glob(".venv-*"))


def test_made_once_it_starts_anywhere(project: Path, tmp_path: Path) -> None:
    assert "Setting up, once" in started(project)
    for name in ('it\'s "one" 100% Ötzi', "long" * 50):
        project = project.rename(tmp_path / name)
        assert started(project, SKIPPED + REFUSED) == ""
        chock = project / ".venv" / "bin" / "chock"
        (tmp_path / "link").symlink_to(chock)
        for script in (chock, tmp_path / "link"):
            assert subprocess.check_output([script]) == b"answered\n"
        (tmp_path / "link").unlink()


def test_out_of_date_without_a_network_it_goes_on_and_says_so(project: Path) -> None:
    started(project)
    (project / "tools" / "lock-run.txt").write_text("# nothing else\n")
    said = started(project, SKIPPED + REFUSED).splitlines()[-1]
    assert said == "Not renewed, the old environment goes on: no network"
    assert "Setting up" in started(project)
    assert started(project) == ""


def test_the_first_start_without_a_network_says_so(project: Path) -> None:
    done = python(SKIPPED + REFUSED + START, project)
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1] == "Setting up failed: no network"


def test_another_patch_of_the_same_python_takes_over(project: Path) -> None:
    started(project)
    for link in (project / ".venv" / "bin").glob("python*"):
        link.unlink()
        link.symlink_to("/nowhere/python3")
    assert started(project) == ""
    assert started(project, SKIPPED + REFUSED) == ""


def test_two_at_once_make_one(project: Path) -> None:
    command = [PYTHON, "-c", SKIPPED + START, str(project)]
    pipe = subprocess.PIPE
    both = [
        subprocess.Popen(command, stdout=pipe, stderr=pipe, text=True) for _ in "ab"
    ]
    said = [process.communicate() for process in both]
    assert [out for out, _ in said] == ["answered\n"] * 2
    assert "".join(err for _, err in said).count("Setting up, once") == 1


def test_missing_venv_module_is_said_in_one_line_with_the_package(
    project: Path,
) -> None:
    done = python(
        "import sys; sys.modules['ensurepip'] = None" + SKIPPED + START, project
    )
    assert done.returncode == 1
    assert "apt install python3" in done.stderr.splitlines()[-1]


def test_too_old_a_python_is_said_in_one_line(project: Path) -> None:
    old = "import sys; sys.version_info = (3, 9, 1, 'final', 0)"
    done = python(old + SKIPPED + START, project)
    assert done.returncode == 1
    assert done.stderr == "chock needs Python 3.11 or newer; this is 3.9\n"


@pytest.mark.parametrize(
    "head",
    [
        b"#!/home/one/.venv-part-1/bin/python3.11\n",
        b"#!/bin/sh\n'''exec' \"/a b/.venv-part-1/bin/python\" \"$0\" \"$@\"\n' '''\n",
    ],
)
def test_head_of_a_script_names_no_folder(head: bytes) -> None:
    script = environment.PIPS_HEAD.sub(environment.HEAD.encode(), head + b"import re\n")
    assert script == environment.HEAD.encode() + b"import re\n"


def locked(group: str) -> dict[str, set[str]]:
    """The locked versions of each package, several where the Python decides."""
    versions: dict[str, set[str]] = {}
    text = (ROOT / "tools" / f"lock-{group}.txt").read_text()
    for name, version in re.findall(r"^([\w.-]+)==(\S+)", text, re.MULTILINE):
        versions.setdefault(name, set()).add(version)
    return versions


def test_locks_hold_what_the_project_asks_for() -> None:
    """If this fails: .venv/bin/python tools/lock.py."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    run, test = project["dependencies"], project["optional-dependencies"]["test"]
    for group, asked in (("run", run), ("test", [*run, *test])):
        for requirement in map(Requirement, asked):
            versions = locked(group)[requirement.name.lower()]
            assert all(requirement.specifier.contains(Version(v)) for v in versions)


def test_both_locks_agree_and_give_digests_and_no_place() -> None:
    assert locked("run").items() <= locked("test").items()
    for group in ("run", "test"):
        text = (ROOT / "tools" / f"lock-{group}.txt").read_text()
        assert "://" not in text
        packages = re.split(r"^(?=\w)", text, flags=re.MULTILINE)[1:]
        assert all("--hash=sha256:" in package for package in packages)


def test_environment_of_the_tests_is_the_locked_one() -> None:
    """Which no other Python than those of the locks has to be."""
    stamp = Path(sys.prefix, environment.STAMP)
    if sys.version_info[:2] in environment.LOCKED and stamp.exists():
        assert json.loads(stamp.read_text()).keys() == {"run", "test"}
