"""The description all sheets of the demo are made from: names, places, and how hard life is there."""

import tomllib
from pathlib import Path

FILE = Path(__file__).resolve().parents[4] / "fixtures" / "demo" / "programme.toml"
DESCRIPTION = tomllib.loads(FILE.read_text(encoding="utf-8"))
SEED = DESCRIPTION["seed"]
