"""A temporary book for a benchmark, and how its numbers are printed."""

import os
import re
import resource
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))


def open_book(where=None, database_url=""):
    """Set Django up in a temporary folder, below `where` if given, that is removed at the end: on an empty, migrated SQLite database in it,
    or on the empty database of `database_url`."""
    import atexit

    folder = tempfile.mkdtemp(prefix="mastbook-benchmark-", dir=where)
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["MASTBOOK_DATA_DIR"] = folder
    os.environ["DATABASE_URL"] = database_url
    os.environ["DJANGO_SETTINGS_MODULE"] = "registry.settings"
    import django
    from django.core.management import call_command

    django.setup()
    from django.db import connection

    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=OFF")  # hundreds of small commits, and nothing to lose yet
    call_command("migrate", verbosity=0)
    connection.close()  # the next one is set up as the site's
    return Path(folder)


def seconds(work, times=1):
    """(median seconds of `times` runs, the last result)."""
    taken, result = [], None
    for _ in range(times):
        start = time.perf_counter()
        result = work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken), result


def processor_seconds(work):
    """(seconds of processor time, the result): what others do on the machine counts less than in `seconds`."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def peak_mb():
    """The most memory that this process took. Linux has it by itself; `getrusage` counts what its parent took before it began, too."""
    status = Path("/proc/self/status")
    if status.exists():
        return int(re.search(r"VmHWM:\s+(\d+) kB", status.read_text())[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def report(name, **numbers):
    print(f"{name}: " + ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in numbers.items()))
