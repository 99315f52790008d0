"""The project's own environment in `.venv`, made when it is missing or out of date.

Only the standard library: this is what runs on a machine with nothing but Python. It is
built beside and renamed into place: a death at any point leaves the old one, or none,
and the same command tries again. Nothing in it names the folder it lies in, so that it
can be moved; it goes on with any patch of its Python, and needs no network once made.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bot.store.lock import Held

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
OLD = ROOT / ".venv-old"
"""Whole, whenever it is there: between two renames."""
PART = ROOT / f".venv-part-{os.getpid()}"
"""Half built, or half removed."""
STAMP = "chock.json"
"""In the environment, written last: the sets it holds, each with its lock's digest."""

OLDEST = (3, 11)
LOCKED = ((3, 11), (3, 12), (3, 13))

HEAD = """\
#!/bin/sh
''':'
here=$0
test -L "$here" && here=$(realpath -- "$here")
exec "${here%/*}/python" "$here" "$@"
'''
"""
"""Of every script: to a shell a call of the Python beside it, to Python a bare text."""

PIPS_HEAD = re.compile(rb"\A#!(/bin/sh\n'''exec' .*\n' '''|.*python.*)\n")


class SetupError(Exception):
    """Setting up failed, and why in words."""


def ready(group: str = "run") -> Path:
    """Make the environment fit if need be; its Python comes back.

    Args:
        group: the set of packages that is needed, "run" or "test".
    """
    if sys.version_info < OLDEST:
        sys.exit(f"chock needs Python 3.11 or newer; this is {_version()}")
    if _fits(group) and _runs():
        return _python(VENV)
    try:
        held = _alone()
        try:
            _renew(group)
        finally:
            held.let_go()
    except (OSError, SetupError) as why:
        if not _serves(group):
            sys.exit(f"Setting up failed: {why}")
        print(f"Not renewed, the old environment goes on: {why}", file=sys.stderr)
    return _python(VENV)


def _version() -> str:
    return ".".join(map(str, sys.version_info[:2]))


def _python(venv: Path) -> Path:
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _stamp() -> dict[str, str]:
    try:
        return dict(json.loads((VENV / STAMP).read_text()))
    except (OSError, ValueError):
        return {}


def _lock(group: str) -> Path:
    return ROOT / "tools" / f"lock-{group}.txt"


def _digest(group: str) -> str:
    return hashlib.sha256(_lock(group).read_text().encode()).hexdigest()


def _fits(group: str) -> bool:
    return _stamp().get(group) == _digest(group)


def _runs() -> bool:
    """Whether its Python is still there, and still the one it was made for."""
    command = [str(_python(VENV)), "-I", "-c", "import bot"]
    try:
        return subprocess.run(command, check=False, capture_output=True).returncode == 0
    except OSError:
        return False


def _serves(group: str) -> bool:
    """Whether what is there will do, though it be out of date."""
    return _runs() and (group == "run" or group in _stamp())


def _alone() -> Held:
    """Wait until no other window sets up; a death lets the lock go."""
    sys.path.insert(0, str(ROOT))
    from bot.store.lock import hold

    held = hold(ROOT / ".venv.lock")
    if held is None:
        print("Another window is setting up; this one waits for it.", file=sys.stderr)
    while held is None:
        time.sleep(0.1)
        held = hold(ROOT / ".venv.lock")
    return held


def _renew(group: str) -> None:
    """Put right what a kill left behind, then what is missing or out of date."""
    _tidy()
    if VENV.exists() and not _runs():
        _relink()
    if _fits(group) and _runs():
        return
    print("Setting up, once. This takes a minute.", file=sys.stderr)
    try:
        _build(PART, "test" if "test" in _stamp() else group)
        if VENV.exists():
            VENV.rename(OLD)
        PART.rename(VENV)
    finally:
        _tidy()


def _tidy() -> None:
    """Back with the old one where the new one did not come; away with leftovers."""
    if OLD.exists():
        OLD.rename(PART if VENV.exists() else VENV)
    for leftover in ROOT.glob(".venv-part-*"):
        shutil.rmtree(leftover, ignore_errors=True)


def _relink() -> None:
    """Its Python went away; another patch of the same one takes its place."""
    settings = VENV / "pyvenv.cfg"
    if settings.exists() and f"version = {_version()}." in settings.read_text():
        for link in _python(VENV).parent.glob("python*"):
            link.unlink()
        upgrade = ["-m", "venv", "--upgrade", "--without-pip", str(VENV)]
        subprocess.run([sys.executable, "-I", *upgrade], check=False)


def _build(new: Path, group: str) -> None:
    try:
        import ensurepip  # noqa: F401
        import venv  # noqa: F401
    except ImportError:
        raise SetupError(
            "Python's venv module is missing; install it, on Debian and its kin "
            f"with: apt install python{_version()}-venv"
        ) from None
    _run([sys.executable, "-I", "-m", "venv", str(new)])
    python = str(_python(new))
    tries = ["--retries", "0"] if _serves(group) else []
    _run([python, "-I", "-m", "pip", "install", "-q", *tries, *_packages(group)])
    _add_chock(new)
    _run([python, "-I", "-m", "compileall", "-q", str(ROOT / "bot")])
    digests = {name: _digest(name) for name in {"run", group}}
    (new / STAMP).write_text(json.dumps(digests))
    if hasattr(os, "sync"):
        os.sync()  # or a power cut after the rename could leave empty files


def _packages(group: str) -> list[str]:
    """What pip is to install, in its own words."""
    if sys.version_info[:2] in LOCKED:
        return ["--require-hashes", "--no-deps", "-r", str(_lock(group))]
    print(
        f"Python {_version()} is not among those that versions are locked for: "
        "the newest packages that fit are taken.",
        file=sys.stderr,
    )
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    more = project["optional-dependencies"].get(group, [])
    return [*project["dependencies"], *more]


def _add_chock(new: Path) -> None:
    """The project itself, by a path from where it lies; no script names a folder."""
    lib = "Lib" if os.name == "nt" else f"lib/python{_version()}"
    site = new / lib / "site-packages"
    (site / "chock.pth").write_text(os.path.relpath(ROOT, site) + "\n")
    scripts = _python(new).parent
    chock = scripts / "chock"
    chock.write_text(f"{HEAD}from bot.cli.main import run\n\nrun()\n")
    chock.chmod(0o755)
    if os.name == "nt":
        (scripts / "chock.cmd").write_text('@"%~dp0python.exe" "%~dp0chock" %*\n')
    for script in scripts.iterdir():
        if script.name.lower().startswith("activate"):
            script.unlink()
        elif not script.is_symlink() and script.read_bytes()[:2] == b"#!":
            script.write_bytes(PIPS_HEAD.sub(HEAD.encode(), script.read_bytes()))


def _run(command: list[str]) -> None:
    done = subprocess.run(
        command,
        check=False,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PIP_DISABLE_PIP_VERSION_CHECK": "1"},
    )
    if not done.returncode:
        return
    if "(from versions: none)" in done.stdout:
        raise SetupError(
            "packages have to be fetched, this once, and no network can be reached; "
            "connect to one and give the same command again"
        )
    print(done.stdout, file=sys.stderr)
    errors = re.findall("^ERROR: (.+)", done.stdout, re.MULTILINE)
    raise SetupError([*errors, *done.stdout.splitlines()[-1:], "no reason given"][0])
