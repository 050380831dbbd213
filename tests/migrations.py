"""Which files decide what an empty database is made of."""

import ast
import hashlib
from pathlib import Path

import axes
import django

BASE = Path(__file__).resolve().parent.parent


def name_of_migrated(base=BASE):
    """The name of the file of an empty migrated database: another one once a migration, or what it imports, changes."""
    read = hashlib.sha256(f"{django.__version__} {axes.__version__}".encode())
    read.update((base / "registry" / "settings.py").read_bytes())  # which apps have tables
    for path in sorted(files_of_migrations(base)):
        read.update(path.read_bytes())
    return f"{read.hexdigest()}.sqlite3"


def files_of_migrations(base=BASE):
    """The migrations of both packages, and our files that they import (of a package, all of its files)."""
    files = set()
    for folder in (base / "registry/migrations", base / "plantings/migrations"):
        for path in folder.glob("*.py"):
            files.add(path)
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                names = [node.module] if isinstance(node, ast.ImportFrom) else [name.name for name in getattr(node, "names", ())]
                if isinstance(node, ast.Import | ast.ImportFrom):
                    files |= {found for name in names for found in _files(base, name)}
    return files


def _files(base, module):
    path = base.joinpath(*module.split("."))
    return [path.with_suffix(".py")] if path.with_suffix(".py").exists() else path.rglob("*.py") if path.is_dir() else []
