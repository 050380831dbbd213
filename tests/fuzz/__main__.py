"""Tries many inputs on all parsers and pages: python -m tests.fuzz [COUNT] [--seed N] [--postgresql] [--only TARGET]

Runs in a database of its own, made for the run. Prints each fault once with its input; exit code 1 when there was any.
"""

import argparse
import contextlib
import logging
import os
import signal
import sys
import tempfile
import time
import traceback
import warnings
from random import Random

from tests.prove import clean_environment, postgresql


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=50_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgresql", action="store_true")
    parser.add_argument("--only", default="")
    options = parser.parse_args()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("Stopped."))  # so that the server of the run is stopped too
    environment = clean_environment()  # no variable of a site
    os.environ.clear()
    os.environ |= environment
    with tempfile.TemporaryDirectory() as folder, postgresql() if options.postgresql else contextlib.nullcontext("") as url:
        os.environ |= {"MASTBOOK_DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "registry.settings", "DATABASE_URL": url}
        return run(options)


def run(options):
    import django

    django.setup()
    from django.core.management import call_command
    from django.test.utils import setup_test_environment

    logging.disable(logging.CRITICAL)
    warnings.simplefilter("ignore")  # of archives with two entries of one name, say
    setup_test_environment()
    call_command("migrate", verbosity=0)
    from tests.fuzz.targets import Targets
    from tests.fuzz.unexpected import Unexpected

    targets, seen, began = Targets(), {}, time.monotonic()
    if options.only:
        targets.all = {target: weight for target, weight in targets.all.items() if target.__name__ == options.only}
    for number in range(options.count):
        try:
            targets.try_one(Random(f"{options.seed}.{number}"))
        except Unexpected as fault:
            cause = fault.__cause__
            where = traceback.extract_tb(cause.__traceback__)[-1] if cause else None
            ours = (
                [
                    frame
                    for frame in traceback.extract_tb(cause.__traceback__)
                    if "/registry/" in frame.filename or "/plantings/" in frame.filename
                ]
                if cause
                else []
            )
            at = ours[-1] if ours else where
            key = (type(cause).__name__, at and (at.filename, at.lineno))
            seen[key] = seen.get(key, 0) + 1
            if seen[key] == 1:
                print(f"input {number}: {fault}\n    at {at.filename}, line {at.lineno}" if at else f"input {number}: {fault}", flush=True)
        if number % 500 == 499:
            print(f"{number + 1:,} inputs, {len(seen)} faults, {time.monotonic() - began:.0f} s", flush=True)
    print(f"{options.count:,} inputs, {len(seen)} different faults, {sum(seen.values())} in all")
    return int(bool(seen))


if __name__ == "__main__":
    sys.exit(main())
