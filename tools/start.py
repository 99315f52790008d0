"""Start chock: `python3 tools/start.py [what you would give to chock]`.

Makes the environment the first time; after that it starts at once.
"""

import os
import subprocess
import sys

from environment import ready


def main() -> None:
    """Hand over to chock in the project's own environment."""
    python = ready()
    command = [str(python), str(python.with_name("chock")), *sys.argv[1:]]
    if os.name == "nt":
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)


if __name__ == "__main__":
    main()
