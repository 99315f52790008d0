"""A window of chock in a process of its own, typed into line by line."""

import subprocess
import sys
from pathlib import Path

ASKS = "> "
CODE = "from bot.cli.main import run; run()"


class Window:
    """`chock talk` at work in a store; `shown` is what it showed last."""

    def __init__(self, home: Path, *options: str) -> None:
        command = [sys.executable, "-u", "-c", CODE, "--home", str(home), "talk"]
        self._run = subprocess.Popen(
            [*command, *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            bufsize=0,
        )
        self.shown = self._read()

    def say(self, words: str) -> str:
        """Type a line; what is shown then, without its breaks."""
        assert self._run.stdin is not None
        self._run.stdin.write(f"{words}\n")
        self.shown = self._read()
        return self.shown

    def end(self) -> int:
        """Close the window as a person does; its exit code."""
        self._run.communicate("quit\n", timeout=60)
        return self._run.returncode

    def _read(self) -> str:
        assert self._run.stdout is not None
        said = ""
        while not said.endswith(f"\n{ASKS}"):
            more = self._run.stdout.read(1)
            if not more:
                break
            said += more
        return " ".join(said.split())
