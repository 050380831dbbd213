"""How long each page of Results, Today and the map take a lead on a large book, and how large they are.

Run by name: python tests/benchmarks/result_pages.py [--plantings 500] [--trees 200] [--rounds 5] [--lot-lists 20] [--runs 5] [--folder DIR]

Builds its own SQLite database: each planting on a site of its own, ten lots in each (one of them a check), out of ten times `--lot-lists`
lots. With `--simulated 2000` it is the programme that `simulate` draws, with so many lots (`simulated_book.py`), and the book of the target is
made by `--plantings 5000 --rounds 10 --simulated 2000 --folder DIR`: 10,000,000 records, some 10 minutes of one core, 3 GB.
The floor is the bare GROUP BY over the records that survival would need without stored tallies. Prints in processor time (other work
on the machine does not count) what each page takes in a process that holds nothing yet, as the first one after a census record of one
planting was corrected, and warm; the size of the answer, and how many times faster than the floor; pages over a target are marked. Pages
read tallies, so `--trees 20` costs them as much as 200; only Today, growth and measurements read records.
With `--folder` the database stays there, and a second run uses it again.
"""

import argparse
import datetime
import gc
import importlib
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

TARGET_MS, TARGET_KB, TARGET_RATIO = 300, 300, 50
LOTS = 10
PAGES = {
    "today": "/", "results": "/results/", "survival": "/results/survival/", "survival by site and lot": "/results/survival/?by=site-lineage&level=lot",
    "survival by lot": "/results/survival/?by=lineage&level=lot", "heat table site × lot": "/results/survival/?view=heat&level=lot",
    "over the seasons, by lineage": "/results/survival/?view=curve&by=lineage", "over the seasons, site × lot": "/results/survival/?view=curve&level=lot",
    "causes": "/results/survival/?view=causes&by=lineage", "lineages, lot": "/results/lineages/?level=lot", "lineages, source": "/results/lineages/?level=source",
    "life tables, source": "/results/lifetimes/?level=source", "life tables, lot": "/results/lifetimes/?level=lot",
    "growth, source": "/results/growth/?level=source", "measurements": "/results/measurements/?by=lineage", "data": "/results/data/",
    "one lineage": "/results/lineage/?level=source&lineage=source+1", "map": "/results/map/", "frame of the map": "/results/map/frame/",
    "places of the map": "/results/map/sites.geojson", "life tables by site": "/results/lifetimes/sites/", "mothers": "/results/mothers/",
    "JSON: survival": "/api/1/survival", "JSON: data": "/api/1/data", "JSON: sites": "/api/1/sites",
}  # fmt: skip


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--plantings", type=int, default=500)
    words.add_argument("--trees", type=int, default=200)
    words.add_argument("--rounds", type=int, default=5)
    words.add_argument("--lot-lists", type=int, default=20)
    words.add_argument("--simulated", type=int, default=0, metavar="LOTS", help="the programme that `simulate` draws, with so many lots")
    words.add_argument("--lineages", type=int, default=200, help="lineages (sources of resistance) of that programme")
    words.add_argument("--runs", type=int, default=5)
    words.add_argument("--folder", type=Path)
    words.add_argument("--pages", default="", help="only pages with this in their name")
    given = words.parse_args()
    with tempfile.TemporaryDirectory(prefix="mastbook-benchmark-") as folder:
        os.environ |= {"MASTBOOK_DATA_DIR": str(given.folder or folder), "DATABASE_URL": "", "DJANGO_SETTINGS_MODULE": "registry.settings"}
        sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
        importlib.import_module("registry.wsgi")  # the site as a server runs it
        fill(given)
        gc.collect()
        gc.freeze()
        pages = PAGES | {"one lineage": "/results/lineage/?level=source&lineage=Source+001"} if given.simulated else PAGES
        sys.exit(measure(given.runs, {name: address for name, address in pages.items() if given.pages in name}))


def fill(given):
    import simulated_book
    import survival_table as book
    from django.core.management import call_command
    from django.db import connection

    from plantings.imports.demo.simulated.truth import Size
    from registry.models import Person

    call_command("migrate", verbosity=0)
    if not Person.objects.exists():
        began = time.perf_counter()
        last_year = (datetime.date.today() - datetime.timedelta(days=288)).year  # the last season that is over: Today lists it
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=OFF")
        if given.simulated:
            sizes = {"sites": given.plantings, "lots": given.simulated, "lineages": given.lineages}
            simulated_book.fill(Size(**sizes, plantings=given.plantings, trees=given.trees, rounds=given.rounds), last_year)
        else:
            book.PLANTINGS, book.LOTS, book.TREES, book.ROUNDS = given.plantings, LOTS, given.trees // LOTS, given.rounds
            book.LAST_YEAR = last_year
            book.fill(given.lot_lists)
        connection.close()
        print(f"database made in {time.perf_counter() - began:.0f} s")
    print(book.counts())


def measure(runs, pages):
    from django.db.models import Count
    from django.test import Client

    from plantings.models import Observation
    from registry.models import Person
    from registry.selectors.shared.held_answers import forget_answers

    client = Client(HTTP_HOST="localhost", HTTP_ACCEPT_ENCODING="gzip")
    client.force_login(Person.objects.get())
    sizes = {}

    def page(name):
        response = client.get(pages[name])
        assert response.status_code == 200, (name, response.status_code)
        sizes[name] = len(response.content) / 1000

    by = ("tree__planting__site__code", "tree__entry__lot__code", "round__growing_seasons", "status")
    grouped = Observation.objects.order_by().values_list(*by).annotate(n=Count("pk"))
    ground = min(processor_ms(lambda: list(grouped.all())) for _run in range(2))
    print(f"bare GROUP BY over the records (the floor): {ground:,.0f} ms")
    missed, writes = False, Writes()
    print(f"bytes, then processor time: cold process, after a record of one planting was corrected (median of {runs}), warm; × the floor")
    for name in pages:
        forget_answers()
        cold = processor_ms(lambda name=name: page(name))
        page(name)  # from the first reading of many records on the process holds answers: that is the second request
        after = statistics.median(processor_ms(lambda name=name: page(name), before=writes.correct) for _run in range(runs))
        milliseconds = statistics.median(processor_ms(lambda name=name: page(name)) for _run in range(runs))
        late = max(after, milliseconds)
        over = [words for words, is_over in (("slow", late > TARGET_MS), ("large", sizes[name] > TARGET_KB)) if is_over]
        over += ["near the floor"] if ground / late < TARGET_RATIO else []
        missed = missed or bool(over)
        print(
            f"{name}: {sizes[name]:,.0f} KB; {cold:,.0f}, {after:,.0f}, {milliseconds:,.0f} ms; {ground / after:.0f} and "
            f"{ground / milliseconds:.0f} × faster than the floor{'; ' if over else ''}{', '.join(over)}",
            flush=True,
        )
    return int(missed)


class Writes:
    """Corrections of the newest record of one tree after another, each in a planting of its own: alive becomes dead, and dead alive."""

    def __init__(self):
        from plantings.models import Planting
        from registry.models import Person

        self.lead = Person.objects.get()
        self.plantings = list(Planting.objects.order_by("pk").values_list("pk", flat=True))
        self.turn = 0

    def correct(self):
        from plantings.models import Observation
        from plantings.services.census.observations import observation_correct

        planting = self.plantings[(self.turn * 617) % len(self.plantings)]
        self.turn += 1
        records = Observation.objects.filter(round__planting=planting, superseded_by__isnull=True)
        record = records.order_by("-round__opens_on", "-pk").select_related("round", "tree").first()
        status = "D" if record.status == "A" else "A"
        values = {"status": status, "cause": "unknown" if status == "D" else "", "canker_class": None, "height_cm": None}
        observation_correct(actor=self.lead, observation=record, reason="Looked again.", **values)


def processor_ms(work, before=lambda: None):
    """Processor time of a piece of work, without what goes before it."""
    before()
    began = time.process_time()
    work()
    return 1_000 * (time.process_time() - began)


if __name__ == "__main__":
    main()
