"""Where things are, for tests that read files: the project, and data beside it that only some machines have."""

import os
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
FIXTURES = PROJECT / "fixtures"
SHARED = PROJECT.parent / "shared" / "data"
# of the environment of the tests, what a program with an environment of its own needs too: otherwise it compiles every file again
COMPILED = {name: os.environ[name] for name in ("PYTHONPYCACHEPREFIX",) if name in os.environ}


def compiled(folder):
    """The folder of the compiled files of a folder. Without PYTHONPYCACHEPREFIX it is the folder itself."""
    return Path(sys.pycache_prefix or folder.root, *folder.parts[1:])
