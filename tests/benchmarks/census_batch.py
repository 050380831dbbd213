"""What census records cost where they arrive: batches of 200 and single records, beside a bare `bulk_create` of the same rows.

Run by name: `.venv/bin/python tests/benchmarks/census_batch.py [--observations 1000000] [--runs 9]`. Builds its own temporary SQLite
database: two plantings of 5,000 trees, one of 50,000, and others of 500 until the number of records is reached; ten rounds each. The
floor stores rows of the same shape with `bulk_create` in one commit of its own, in the second planting, in turn with the service, so that
both meet the same disk and the same load. Target: a batch of 200 into 5,000 trees x 10 rounds in at most 3 times the floor.

At the end 20 people send 200 records each at the same moment. Every tally is then compared with a recount. Exit code 1 when the
target is missed, a record is lost or a tally differs.
"""

import argparse
import datetime
import random
import statistics
import sys
import threading
import time
import uuid

from temporary_book import open_book, report

ROUNDS, ENTRIES, BATCH, WRITERS, TARGET_RATIO = 10, 20, 200, 20, 3
SMALL, LARGE, OTHER = 5_000, 50_000, 500
_COLUMNS = ["uuid", "round", "tree", "status", "cause", "observed_on", "height_cm", "entered_by", "received_at"]
STAMP = datetime.datetime(2024, 10, 1, tzinfo=datetime.UTC)


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--observations", type=int, default=1_000_000)
    words.add_argument("--small", type=int, default=SMALL, help="trees of the planting the batches go to")
    words.add_argument("--large", type=int, default=LARGE, help="trees of the large planting")
    words.add_argument("--runs", type=int, default=9)
    given = words.parse_args()
    open_book()
    from django.db import transaction

    began = time.perf_counter()
    with transaction.atomic():  # one commit for all that is there before
        book = Book()
        small, floor, large = (book.planting(count) for count in (given.small, given.small, given.large))
        while book.records < given.observations:
            book.planting(OTHER, tallied=False)
    print(f"database made in {time.perf_counter() - began:.0f} s: {book.records:,} census records")
    missed = measure(book, small, floor, large, given.runs)
    missed |= crowd(book, small)
    sys.exit(int(missed | differs(small, large)))


class Book:
    """Plantings with a complete history, but for the last round: a third of the trees has a record there."""

    def __init__(self):
        from registry.models import Lot, Partner, Taxon
        from tests import factories

        self.actor = factories.person("lead")
        taxon = Taxon.objects.create(name="Juglans cinerea", role="native")
        self.partner = Partner.objects.create(code="PA", name="Partner", kind="agency")
        self.lots = Lot.objects.bulk_create(
            Lot(code=f"L{n:02d}", kind="stock", taxon=taxon, origin="outside", outside_origin="benchmark", year=2018)
            for n in range(ENTRIES)
        )
        self.chance, self.records = random.Random(20), 0
        self.left, self.rounds = {}, {}

    def planting(self, count, tallied=True):
        from plantings.models import Observation, PlantingEntry, Tree
        from plantings.services.tallies import tallies_rebuild
        from registry.services.shared.bulk_insert import bulk_insert
        from tests import factories

        planting = factories.planting(site=factories.site(partner=self.partner), planted_on=datetime.date(2014, 4, 20))
        entries = PlantingEntry.objects.bulk_create(PlantingEntry(planting=planting, lot=lot, role="test") for lot in self.lots)
        trees = Tree.objects.bulk_create(
            (Tree(planting=planting, entry=entries[n % ENTRIES], tag=f"{n}", walk_number=n) for n in range(count)), batch_size=2_000
        )
        rounds = [factories.census_round(planting, season + 1) for season in range(ROUNDS)]
        seen = trees[: count // 3]
        rows = [
            self.row(census_round, tree, self.actor.pk)
            for census_round in rounds
            for tree in (trees if census_round is not rounds[-1] else seen)
        ]
        bulk_insert(Observation, _COLUMNS, rows)
        self.records += len(rows)
        if tallied:
            tallies_rebuild(planting)
        self.left[planting], self.rounds[planting] = list(trees[count // 3 :]), rounds
        self.chance.shuffle(self.left[planting])
        return planting

    def row(self, census_round, tree, actor):
        status = self.chance.choices(("A", "AR", "D", "NF", "SU", "NV"), (88, 2, 2, 4, 2, 2))[0]
        height = self.chance.randint(20, 300) if status == "A" else None
        known = uuid.UUID(int=self.chance.getrandbits(128))
        cause = "deer" if status == "D" else ""
        return known, census_round.pk, tree.pk, status, cause, census_round.opens_on, height, actor, STAMP

    def new_rows(self, planting, count):
        """Rows of trees without a record in the last round, as a field form brings them; one in ten of them died."""
        from plantings.services.census import CensusRow

        census_round = self.rounds[planting][-1]
        if len(self.left[planting]) < count:  # a second look at trees that were seen before
            self.left[planting] += list(planting.trees.all())
        trees = [self.left[planting].pop() for _ in range(count)]
        return [
            CensusRow(
                round_id=census_round.pk, tree_id=tree.pk, observed_on=census_round.opens_on, observer="R. Counter",
                **({"status": "D", "cause": "frost"} if number % 10 == 9 else {"status": "A", "height_cm": 120, "canker_class": number % 3}),
            )
            for number, tree in enumerate(trees)
        ]  # fmt: skip


def bare(rows, actor):
    """The same rows, unchecked and uncounted, in one commit."""
    from django.db import transaction
    from django.db.models import QuerySet

    from plantings.models import Observation

    with transaction.atomic():
        QuerySet(Observation).bulk_create(
            Observation(
                uuid=row.uuid, round_id=row.round_id, tree_id=row.tree_id, status=row.status, cause=row.cause, observed_on=row.observed_on,
                observer=row.observer, height_cm=row.height_cm, canker_class=row.canker_class, entered_by=actor, received_at=STAMP,
            )
            for row in rows
        )  # fmt: skip


def measure(book, small, floor, large, runs):
    """Each case in turn with a floor of as many rows; medians of both clocks."""
    from plantings.services.census import observations_record
    from registry.calc.shared.screen import amount_words

    missed = False
    for planting, count, target in ((small, BATCH, TARGET_RATIO), (small, 1, None), (large, 1, None)):
        name = f"{amount_words(count, 'records')} into {planting.trees.count():,} trees x {ROUNDS} rounds"
        ours, ground = [], []
        for turn in range(runs + 1):
            sent, same = book.new_rows(planting, count), book.new_rows(floor, count)
            ground.append(both_clocks(lambda rows=same: bare(rows, book.actor)))
            ours.append(both_clocks(lambda rows=sent: observations_record(actor=book.actor, rows=rows)))
            if not turn:  # the first turn fills the caches
                ours, ground = [], []
        (wall, cpu), (wall_floor, cpu_floor) = (map(statistics.median, zip(*times, strict=True)) for times in (ours, ground))
        report(
            name, ms=f"{1_000 * wall:.1f}", floor_ms=f"{1_000 * wall_floor:.1f}", times_the_floor=f"{wall / wall_floor:.1f}",
            processor_ms=f"{1_000 * cpu:.1f}", floor_processor_ms=f"{1_000 * cpu_floor:.1f}",
            times_the_floor_in_processor_time=f"{cpu / cpu_floor:.1f}",
        )  # fmt: skip
        missed |= bool(target) and wall / wall_floor > target
    return missed


def both_clocks(work):
    """(wall seconds, processor seconds) of one call."""
    began, began_cpu = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - began, time.process_time() - began_cpu


def crowd(book, planting):
    """20 people, each with a connection of their own, send 200 records at the same moment. True when one is refused or lost."""
    from django.db import connections

    from plantings.models import Observation
    from plantings.services.census import observations_record

    sendings = [book.new_rows(planting, BATCH) for _ in range(WRITERS)]
    gate, errors, taken = threading.Barrier(WRITERS), [], []

    def send(rows):
        try:
            gate.wait()
            began = time.perf_counter()
            observations_record(actor=book.actor, rows=rows)
            taken.append(time.perf_counter() - began)
        except Exception as error:
            errors.append(repr(error))
        finally:
            connections.close_all()

    people = [threading.Thread(target=send, args=(rows,)) for rows in sendings]
    began = time.perf_counter()
    for person in people:
        person.start()
    for person in people:
        person.join()
    spent = time.perf_counter() - began
    sent = {row.uuid for rows in sendings for row in rows}
    there = sum(Observation.objects.filter(uuid__in=[row.uuid for row in rows]).count() for rows in sendings)
    report(
        f"{WRITERS} people at once, {BATCH} records each", seconds=f"{spent:.1f}", slowest_s=f"{max(taken, default=0):.1f}",
        errors=len(errors), sent=f"{len(sent):,}", stored=f"{there:,}",
    )  # fmt: skip
    for error in errors[:5]:
        print(error)
    return bool(errors) or there != len(sent)


def differs(*plantings):
    """Whether any stored tally or fate is not what a recount of the records gives."""
    from plantings.selectors.census.recount import tally_differences

    found = [line for planting in plantings for line in tally_differences(planting)[2]]
    report("recount", differences=len(found))
    for line in found[:5]:
        print(line)
    return bool(found)


if __name__ == "__main__":
    main()
