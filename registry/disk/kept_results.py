"""Results that take long to work out, stored beside the database until what they rest on changes.

A result has the SHA-256 of what it rests on as its name, so it cannot be out of date: after a change another name is looked for. Whoever
may see other rows looks for another name too. A result that is missing, or cannot be stored, is worked out again; nothing else depends
on these files, and no backup holds them.
"""

import contextlib
import hashlib
import json
import time
from pathlib import Path

from django.conf import settings

from registry.disk.whole_files import write_whole

__all__ = ["kept_result", "source_digest"]

RESULTS_MOST = 400
_FOLDER = "results"


def source_digest(*folders):
    """The SHA-256 of the Python files of packages, so that a result is worked out again after a change of the code that makes it."""
    digest = hashlib.sha256()
    for folder in folders:
        for path in sorted(Path(folder).glob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()


def kept_result(kind, rests_on, work_out):
    """(values, time it was worked out in seconds since 1970): stored before, or made by `work_out()` and stored.

    `rests_on` is a text of everything the values depend on; `kind` is a word for the name of the file. Values are what JSON holds.
    """
    path = settings.DATA_DIR / _FOLDER / f"{kind}-{hashlib.sha256(rests_on.encode()).hexdigest()}.json"
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
        stored = json.loads(path.read_bytes())
        return stored["values"], float(stored["made_at"])
    values, made_at = work_out(), time.time()
    # a full or read-only disk stops no page: the result is worked out again next time
    with contextlib.suppress(OSError):
        write_whole(path, [json.dumps({"made_at": made_at, "values": values}).encode()], mode=0o600)
        _remove_oldest(path.parent)
    return values, made_at


def _remove_oldest(folder):
    found = sorted(((path.stat().st_mtime, path) for path in folder.glob("*.json")), reverse=True)
    for _when, path in found[RESULTS_MOST:]:
        path.unlink(missing_ok=True)
