"""Which files decide what an empty database is made of."""

import ast
from pathlib import Path

BASE = Path(__file__).resolve().parent.parent


def files_of_migrations():
    """The migrations of both packages, and our files that they import (of a package, all of its files)."""
    files = set()
    for folder in (BASE / "registry/migrations", BASE / "plantings/migrations"):
        for path in folder.glob("*.py"):
            files.add(path)
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                names = [node.module] if isinstance(node, ast.ImportFrom) else [name.name for name in getattr(node, "names", ())]
                if isinstance(node, ast.Import | ast.ImportFrom):
                    files |= {found for name in names for found in _files(name)}
    return files


def _files(module):
    path = BASE.joinpath(*module.split("."))
    return [path.with_suffix(".py")] if path.with_suffix(".py").exists() else path.rglob("*.py") if path.is_dir() else []
