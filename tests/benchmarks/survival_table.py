"""How long the survival table takes on 100,000 trees with five rounds each, against a bare GROUP BY over the records.

Run by name: python tests/benchmarks/survival_table.py [--lots shared|own] [--runs 15]

Builds its own temporary SQLite database: 100 plantings at 100 sites, 20 lots of 50 trees in each, five rounds. The floor
is the bare GROUP BY over the records that the columns of the table would need, asked as the table is, through Django:
records by site, lot, age and status; no fates, no hindsight, no intervals, no comparison, no lineage. Two smaller
GROUP BYs in plain SQL are timed beside it: the barest that gives the same alive and n of one age (checked here to agree
with the table), and one of this age alone, which gives other numbers. Prints medians, their ratio to the floor and the
peak memory; exit code 1 when a table takes 100 ms or the one the page opens with is not 20 times faster than the floor.
"""

import argparse
import datetime
import gc
import importlib
import os
import random
import resource
import statistics
import sys
import tempfile
import time
import uuid
from pathlib import Path

PLANTINGS, LOTS, TREES, ROUNDS, SEASON = 100, 20, 50, 5, 3
LOTS_OF_MOTHER = 4
LAST_YEAR = 2023
JURISDICTIONS = ("US-VT", "US-NY", "US-PA", "US-OH", "US-WI")
TARGET_MS, TARGET_RATIO = 100, 20
PAGE_OPENS_WITH = "survival by site and source"
STAMP = datetime.datetime(2024, 10, 1, tzinfo=datetime.UTC)

FLOOR = """
SELECT s.code, l.code, COUNT(*), SUM(seen.alive)
FROM (
    SELECT o.tree_id, MAX(o.status IN ('A', 'AR')) AS alive
    FROM plantings_observation o JOIN plantings_censusround r ON r.id = o.round_id
    WHERE r.growing_seasons >= %s GROUP BY o.tree_id
) seen
JOIN plantings_tree t ON t.id = seen.tree_id
JOIN plantings_plantingentry e ON e.id = t.entry_id
JOIN plantings_planting p ON p.id = e.planting_id
JOIN plantings_site s ON s.id = p.site_id
JOIN registry_lot l ON l.id = e.lot_id
WHERE t.replaces_id IS NULL AND e.role IN ('test', 'check')
GROUP BY s.code, l.code
"""

THIS_AGE_ALONE = """
SELECT p.site_id, e.lot_id, COUNT(*), SUM(o.status IN ('A', 'AR'))
FROM plantings_observation o
JOIN plantings_censusround r ON r.id = o.round_id
JOIN plantings_tree t ON t.id = o.tree_id
JOIN plantings_plantingentry e ON e.id = t.entry_id
JOIN plantings_planting p ON p.id = e.planting_id
WHERE r.growing_seasons = %s AND t.replaces_id IS NULL AND e.role IN ('test', 'check')
GROUP BY p.site_id, e.lot_id
"""


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--runs", type=int, default=15)
    words.add_argument("--lots", choices=("shared", "own"), default="shared", help="20 lots in all, or 20 of its own for each planting")
    given = words.parse_args()
    with tempfile.TemporaryDirectory(prefix="mastbook-benchmark-") as folder:
        os.environ |= {"MASTBOOK_DATA_DIR": folder, "DATABASE_URL": "", "DJANGO_SETTINGS_MODULE": "registry.settings"}
        sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
        importlib.import_module("registry.wsgi")  # the site as a server runs it
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        began = time.perf_counter()
        fill(PLANTINGS if given.lots == "own" else 1)
        print(f"database made in {time.perf_counter() - began:.0f} s: {counts()}")
        gc.collect()
        gc.freeze()  # as a server that starts on this book would (wsgi.py)
        sys.exit(measure(given.runs))


def fill(lot_lists):
    """Make the book; its plantings take turns with so many lists of lots."""
    from plantings.models import CensusRound, Observation, Planting, PlantingEntry, Site, Tree
    from plantings.services.census.tallies import tallies_rebuild
    from registry.models import Partner, Person, Taxon
    from registry.services.shared.bulk_insert import bulk_insert

    chance = random.Random(20)
    person = Person.objects.create(username="lead", role="lead")
    taxon = Taxon.objects.create(name="Juglans cinerea", role="native")
    partner = Partner.objects.create(code="PA", name="Partner", kind="agency")
    lot_lists = [make_lots(taxon, name) for name in range(lot_lists)]
    before = LAST_YEAR - ROUNDS  # the year before the first season
    for number in range(PLANTINGS):
        site = Site.objects.create(
            code=f"S{number:03d}", name=f"Site {number}", partner=partner, jurisdiction=JURISDICTIONS[number % len(JURISDICTIONS)],
            longitude=-90 + 18 * (0.618 * number % 1), latitude=38 + 8 * (0.414 * number % 1),
        )  # fmt: skip
        planting = Planting.objects.create(
            code=f"P{number:03d}", site=site, planted_on=datetime.date(before + 1, 4, 20), state="established", supply="before_records"
        )
        entries = PlantingEntry.objects.bulk_create(
            PlantingEntry(planting=planting, lot=lot, role="test" if place else "check")
            for place, lot in enumerate(lot_lists[number % len(lot_lists)])
        )
        trees = Tree.objects.bulk_create(
            (
                Tree(planting=planting, entry=entry, tag=f"{entry.pk}-{place}", walk_number=place)
                for entry in entries
                for place in range(TREES)
            ),
            batch_size=2_000,
        )
        rounds = CensusRound.objects.bulk_create(
            CensusRound(
                planting=planting, label=str(before + season), growing_seasons=season, opens_on=datetime.date(before + season, 9, 1),
                closes_on=datetime.date(before + season, 10, 15),
            )
            for season in range(1, ROUNDS + 1)
        )  # fmt: skip
        rows = [row for tree in trees for row in records(tree, rounds, person, chance)]
        names = ["uuid", "round", "tree", "status", "cause", "observed_on", "observer", "note", "canker_class", "reason", "browse_class"]
        bulk_insert(Observation, [*names, "entered_by", "received_at"], rows)
        tallies_rebuild(planting)


def make_lots(taxon, name):
    """A list of lots, each `LOTS_OF_MOTHER` of them harvested of one mother."""
    from registry.models import Lot, PedigreeTree

    mothers = PedigreeTree.objects.bulk_create(
        PedigreeTree(
            code=f"M{name}-{place:02d}", taxon=taxon, source_of_resistance=f"source {place % 4}", recurrent_line=f"line {place % 5}"
        )
        for place in range(-(-LOTS // LOTS_OF_MOTHER))
    )
    return Lot.objects.bulk_create(
        Lot(
            code=f"L{name}-{place:02d}", kind="stock", taxon=taxon, origin="harvest", mother=mothers[place // LOTS_OF_MOTHER], year=2012,
            cross_type="open",
        )
        for place in range(LOTS)
    )  # fmt: skip


def records(tree, rounds, person, chance):
    """One record a round: most live on, some die, some are missed."""
    dead = False
    for census_round in rounds:
        dead = dead or chance.random() < 0.08
        status = "NF" if chance.random() < 0.03 else "D" if dead else "A"
        canker = chance.choice((0, 0, 1)) if status == "A" else None
        cause = "unknown" if status == "D" else ""
        yield (
            uuid.UUID(int=chance.getrandbits(128)), census_round.pk, tree.pk, status, cause, census_round.opens_on, "", "", canker, "", "",
            person.pk, STAMP,
        )  # fmt: skip


def counts():
    from plantings.models import Observation, SurvivalTally, Tree

    return ", ".join(f"{model.objects.count():,} {model._meta.verbose_name_plural}" for model in (Tree, Observation, SurvivalTally))


def measure(runs):
    from django.db import connection
    from django.db.models import Count

    from plantings.calc.survival.census_choice import CensusChoice
    from plantings.models import Observation
    from plantings.selectors.survival.survival import survival_rows
    from registry.models import Person

    lead = Person.objects.get()

    def asked(sql):
        with connection.cursor() as cursor:
            return cursor.execute(sql, [SEASON]).fetchall()

    def table(*by, level="source"):
        return survival_rows(lead, by, level, CensusChoice("age", SEASON)).rows

    ours = {(*row.keys, row.n, row.alive) for row in table("site", "lineage", level="lot")}
    if ours != set(asked(FLOOR)):
        sys.exit("The table and the GROUP BY disagree on n and alive: nothing measured.")
    by = ("tree__planting__site__code", "tree__entry__lot__code", "round__growing_seasons", "status")
    grouped = Observation.objects.order_by().values_list(*by).annotate(n=Count("pk"))
    questions = {
        "bare GROUP BY over the records (the floor)": lambda: list(grouped.all()),
        "plain SQL that gives the same alive and n of this age": lambda: asked(FLOOR),
        "plain SQL of this age alone, other numbers": lambda: asked(THIS_AGE_ALONE),
        PAGE_OPENS_WITH: lambda: table("site", "lineage"),
        "survival by source": lambda: table("lineage"),
        "survival by site": lambda: table("site"),
        "survival by site and lot": lambda: table("site", "lineage", level="lot"),
    }
    spent = medians_ms(questions, runs)
    ground, missed = next(iter(spent.values())), False
    for name, milliseconds in spent.items():
        line = f"{name}: {milliseconds:.1f} ms, {len(questions[name]()):,} rows"
        if name.startswith("survival"):
            ratio = ground / milliseconds
            good = milliseconds < TARGET_MS and (ratio >= TARGET_RATIO or name != PAGE_OPENS_WITH)
            missed = missed or not good
            line += f", {ratio:.1f} × faster than the floor{'' if good else '; misses a target'}"
        print(line)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"targets: under {TARGET_MS} ms, and {TARGET_RATIO} × faster for the table the page opens with; peak memory {peak_mb:.0f} MB")
    return int(missed)


def medians_ms(questions, runs):
    """Median wall time of each question. They take turns, so that a busy moment falls on all; the first turn is not counted."""
    times = {name: [] for name in questions}
    for turn in range(runs + 1):
        for name, work in questions.items():
            began = time.perf_counter()
            work()
            if turn:
                times[name].append(1_000 * (time.perf_counter() - began))
    return {name: statistics.median(found) for name, found in times.items()}


if __name__ == "__main__":
    main()
