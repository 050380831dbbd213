"""Where things are, for tests that read files: the project, and data beside it that only some machines have."""

from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
FIXTURES = PROJECT / "fixtures"
SHARED = PROJECT.parent / "shared" / "data"
