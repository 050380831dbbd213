"""What census records cost where they arrive: batches of 200 and single records, beside a bare `bulk_create` of the same rows.

Run by name: `.venv/bin/python tests/benchmarks/census_batch.py [--observations 1000000] [--runs 9]`. Builds its own temporary SQLite
database: two plantings of 5,000 trees, one of 50,000, and others of 5,000 until the number of records is reached; ten rounds each. The
floor stores rows of the same shape with `bulk_create` in one commit of its own, in the second planting, in turn with the service, so that
both meet the same disk and the same load. Target: a batch of 200 into 5,000 trees x 10 rounds in at most 3 times the floor.

At the end 20 people send 200 records each at the same moment. On a very busy machine some must save again, and do. Every tally
is then compared with a recount. Exit code 1 when the target is missed, a record is lost or a tally differs.
"""

import argparse
import datetime
import multiprocessing
import random
import statistics
import sys
import time
import uuid

from temporary_book import open_book, report

ROUNDS, ENTRIES, BATCH, WRITERS, TARGET_RATIO = 10, 20, 200, 20, 3
SMALL, LARGE = 5_000, 50_000
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
    from django.db import connection, transaction

    from plantings.services.census.tallies import tallies_rebuild

    began = time.perf_counter()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA cache_size=-1000000")  # a GB, to build in; the connection is closed below
    with transaction.atomic():
        book = Book(given.small)
        small, floor, large = book.first, book.planting(given.small), book.planting(given.large)
        while book.records < given.observations:
            book.planting(given.small)
        for planting in (small, large):
            tallies_rebuild(planting)
    connection.close()
    print(f"database made in {time.perf_counter() - began:.0f} s: {book.records:,} census records")
    missed = measure(book, small, floor, large, given.runs)
    missed |= crowd(book, small)
    sys.exit(int(missed | differs(small, large)))


class Book:
    """Plantings with a complete history, but for the last round: a third of the trees has a record there.

    The first is made here; the database copies it into the others, as often as they are larger.
    """

    def __init__(self, size):
        from plantings.models import Observation, Tree
        from registry.models import Lot, Partner, Taxon
        from registry.services.shared.bulk_insert import bulk_insert
        from tests import factories

        self.actor = factories.person("lead")
        taxon = Taxon.objects.create(name="Juglans cinerea", role="native")
        self.site = factories.site(partner=Partner.objects.create(code="PA", name="Partner", kind="agency"))
        self.lots = Lot.objects.bulk_create(
            Lot(code=f"L{n:02d}", kind="stock", taxon=taxon, origin="outside", outside_origin="benchmark", year=2018)
            for n in range(ENTRIES)
        )
        self.chance, self.records, self.size = random.Random(20), 0, size
        self.left, self.rounds, self.entries = {}, {}, {}
        self.first = self.made()
        entries = self.entries[self.first]
        trees = Tree.objects.bulk_create(
            (Tree(planting=self.first, entry=entries[n % ENTRIES], tag=f"{n}", walk_number=n) for n in range(size)), batch_size=2_000
        )
        rounds = self.rounds[self.first]
        rows = [
            self.row(census_round, tree, self.actor.pk)
            for census_round in rounds
            for tree in (trees[: size // 3] if census_round is rounds[-1] else trees)
        ]
        bulk_insert(Observation, _COLUMNS, rows)
        self.records += len(rows)
        self.first_tree = trees[0].pk

    def made(self):
        """A planting with its entries and rounds, without trees."""
        from plantings.models import PlantingEntry
        from tests import factories

        planting = factories.planting(site=self.site, planted_on=datetime.date(2014, 4, 20))
        entries = PlantingEntry.objects.bulk_create(PlantingEntry(planting=planting, lot=lot, role="test") for lot in self.lots)
        self.entries[planting] = entries
        self.rounds[planting] = [factories.census_round(planting, season + 1) for season in range(ROUNDS)]
        self.left[planting] = []
        return planting

    def planting(self, count):
        """A planting of some thousand trees, each with the records of a tree of the first one."""
        from django.db.models import Max

        from plantings.models import Observation, Tree

        planting = self.made()
        entry, census_round = (of[planting][0].pk - of[self.first][0].pk for of in (self.entries, self.rounds))
        for part in range(count // self.size):
            tree = Tree.objects.aggregate(pk=Max("pk"))["pk"] + 1 - self.first_tree
            _copy(
                Tree, {"planting_id": f"{planting.pk}", "entry_id": f"entry_id + {entry}", "tag": f"tag || '/{part}'"},
                f"planting_id = {self.first.pk} ORDER BY id",
            )  # fmt: skip
            of_first = f"round_id BETWEEN {self.rounds[self.first][0].pk} AND {self.rounds[self.first][-1].pk}"
            self.records += _copy(
                Observation,
                {"uuid": "lower(hex(randomblob(16)))", "round_id": f"round_id + {census_round}", "tree_id": f"tree_id + {tree}"},
                of_first,
            )
        return planting

    def row(self, census_round, tree, actor):
        status = self.chance.choices(("A", "AR", "D", "NF", "SU", "NV"), (88, 2, 2, 4, 2, 2))[0]
        height = self.chance.randint(20, 300) if status == "A" else None
        known = uuid.UUID(int=self.chance.getrandbits(128))
        cause = "deer" if status == "D" else ""
        return known, census_round.pk, tree.pk, status, cause, census_round.opens_on, height, actor, STAMP

    def new_rows(self, planting, count):
        """Rows of trees without a record in the last round, as a field form brings them; one in ten of them died."""
        from plantings.services.census.observations import CensusRow

        census_round = self.rounds[planting][-1]
        if len(self.left[planting]) < count:  # once all have one: a second look at trees that were seen before
            left = planting.trees.exclude(observations__round=census_round).order_by("pk")
            self.left[planting] = list(left if left.count() >= count else planting.trees.order_by("pk"))
            self.chance.shuffle(self.left[planting])
        trees = [self.left[planting].pop() for _ in range(count)]
        return [
            CensusRow(
                round_id=census_round.pk, tree_id=tree.pk, observed_on=census_round.opens_on, observer="R. Counter",
                **({"status": "D", "cause": "frost"} if number % 10 == 9 else {"status": "A", "height_cm": 120, "canker_class": number % 3}),
            )
            for number, tree in enumerate(trees)
        ]  # fmt: skip


def _copy(model, changed, where):
    """Copy rows of a table, with SQL for the columns that change. Returns how many."""
    from django.db import connection

    table = model._meta.db_table
    names = [field.column for field in model._meta.concrete_fields if not field.primary_key]
    values = ", ".join(changed.get(name, f'"{name}"') for name in names)
    columns = ", ".join(f'"{name}"' for name in names)
    with connection.cursor() as cursor:
        return cursor.execute(f"INSERT INTO {table} ({columns}) SELECT {values} FROM {table} WHERE {where}").rowcount


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
    from plantings.services.census.observations import observations_record
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
    """20 people, each with a process of their own, send 200 records at the same moment. True when one is refused or lost."""
    from django.db import connection

    from plantings.models import Observation

    sendings = [book.new_rows(planting, BATCH) for _ in range(WRITERS)]
    connection.close()  # each process opens its own
    fork = multiprocessing.get_context("fork")
    gate, told = fork.Barrier(WRITERS), fork.SimpleQueue()
    people = [fork.Process(target=send, args=(book.actor, rows, gate, told)) for rows in sendings]
    began = time.perf_counter()
    for person in people:
        person.start()
    answers = [told.get() for _ in people]
    spent = time.perf_counter() - began
    for person in people:
        person.join()
    sent = {row.uuid for rows in sendings for row in rows}
    there = sum(Observation.objects.filter(uuid__in=[row.uuid for row in rows]).count() for rows in sendings)
    errors = [error for _, _, error in answers if error]
    report(
        f"{WRITERS} people at once, {BATCH} records each", seconds=f"{spent:.1f}", slowest_s=f"{max(answers)[0]:.1f}",
        asked_to_save_again=sum(busy for _, busy, _ in answers), errors=len(errors), sent=f"{len(sent):,}", stored=f"{there:,}",
    )  # fmt: skip
    for error in errors[:5]:
        print(error)
    return bool(errors) or there != len(sent)


def send(actor, rows, gate, told):
    """Tells (seconds, how often the page asked to save again, error or "")."""
    from plantings.services.census.observations import observations_record
    from registry.services.audit.busy import Busy

    gate.wait()
    began, busy, error = time.perf_counter(), 0, ""
    for _ in range(5):
        try:
            observations_record(actor=actor, rows=rows)
            break
        except Busy:  # after 20 seconds; nothing was stored
            busy += 1
        except Exception as other:
            error = repr(other)
            break
    told.put((time.perf_counter() - began, busy, error))


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
