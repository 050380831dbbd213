"""A place that a backup is restored in, for the tests of backups."""

import contextlib
import json
import os
import subprocess
import sys

from django.db import connection

from tests.places import COMPILED, PROJECT

PDF = b"%PDF-1.7 the permit"


class Place:
    """An empty place: a data folder and a database of its own, reached by commands as a person would."""

    def __init__(self, folder, url):
        self.folder = folder
        self.environment = COMPILED | {"PATH": os.environ["PATH"], "PYTHONPATH": os.environ.get("PYTHONPATH", ""), "PYTHONUTF8": "1"}
        self.environment |= {"MASTBOOK_DATA_DIR": str(folder), "DATABASE_URL": url}

    def run(self, *words, **options):
        command = [sys.executable, "manage.py", *map(str, words)]
        return subprocess.run(command, cwd=PROJECT, env=self.environment, capture_output=True, text=True, timeout=240, **options)

    def ask(self, expression):
        found = self.run("shell", "-v", "0", "-c", f"import json; from registry.models import *; print(json.dumps({expression}))")
        assert found.returncode == 0, found.stderr
        return json.loads(found.stdout.splitlines()[-1])


@contextlib.contextmanager
def place(folder, template="template1"):
    folder.mkdir()
    if connection.vendor == "sqlite":
        yield Place(folder, "")
        return
    name, parts = f"elsewhere{os.getpid()}", connection.settings_dict
    connection.close()  # a database that somebody is connected to cannot be copied
    with connection._nodb_cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    yield Place(folder, f"postgresql://{parts['USER']}:{parts['PASSWORD']}@{parts['HOST']}:{parts['PORT']}/{name}")
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def named(folder):
    return sorted(path.name for path in folder.iterdir() if path.is_file())
