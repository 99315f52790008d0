"""The project's own environment in `.venv`, made when it is missing or out of date.

Only the standard library: this is what runs on a machine with nothing but Python.
"""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
OLDEST = (3, 11)


def ready(extra: str = "") -> Path:
    """Make the environment fit if need be; the folder of its programs comes back.

    Args:
        extra: the optional group of packages that is needed as well, such as "test".
    """
    _check_python()
    programs = VENV / ("Scripts" if os.name == "nt" else "bin")
    stamp = VENV / f"chock-{extra or 'run'}.stamp"
    wanted = _fingerprint()
    if stamp.exists() and stamp.read_text() == wanted:
        return programs
    print("Setting up, once. This takes a minute.", file=sys.stderr)
    if not (VENV / "pyvenv.cfg").exists():
        _run([sys.executable, "-m", "venv", str(VENV)])
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    _run([str(programs / "python"), "-m", "pip", "install", "-q", "-e", target])
    _run([str(programs / "python"), "-m", "compileall", "-q", str(ROOT / "bot")])
    stamp.write_text(wanted)
    return programs


def _check_python() -> None:
    if sys.version_info < OLDEST:
        have = ".".join(map(str, sys.version_info[:2]))
        sys.exit(f"chock needs Python 3.11 or newer; this is {have}")
    try:
        import ensurepip  # noqa: F401
        import venv  # noqa: F401
    except ImportError:
        version = ".".join(map(str, sys.version_info[:2]))
        sys.exit(
            "Python's venv module is missing; install it, on Debian and its kin with: "
            f"apt install python{version}-venv"
        )


def _fingerprint() -> str:
    """What the environment was made from: the project file, the Python, the place."""
    text = (ROOT / "pyproject.toml").read_bytes()
    parts = [text, sys.version.encode(), str(ROOT).encode()]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def _run(command: list[str]) -> None:
    done = subprocess.run(
        command,
        check=False,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PIP_DISABLE_PIP_VERSION_CHECK": "1"},
    )
    if done.returncode:
        last = done.stdout.strip().splitlines()[-1:] or ["no reason given"]
        print(done.stdout, file=sys.stderr)
        sys.exit(f"setting up failed: {last[0]}")
