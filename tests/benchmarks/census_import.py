"""Validated census import: a CSV of 100,000 rows, as a user's file, against the driver's own executemany.

Run by name: `.venv/bin/python tests/benchmarks/census_import.py`. Target: at least 10,000 rows a second on
SQLite, at most 8 times the processor time of the floor, all rules checked, tallies rebuilt, under 500 MB.

There are two floors. The bare one stores rows in memory, in a table of the first columns and indexes of a record, without keys to other
tables, checks and triggers. The other one stores the rows of the load again in a copy of the records, by the driver alone: the same
table with its keys, checks and triggers, the same file and the same transaction.
"""

import contextlib
import datetime
import sqlite3
import uuid

from temporary_book import open_book, peak_mb, processor_seconds, report

PLANTINGS, TREES_EACH, SEASONS = 100, 1_000, 2


def book_of_trees(plantings=PLANTINGS, seasons=SEASONS):
    from plantings.services.trees import TreeAsPlanted, trees_plant
    from tests import factories

    actor = factories.person(username="lead")
    lots = [factories.stock_lot(actor=actor) for _ in range(20)]
    for number in range(plantings):
        planting = factories.planting(code=f"P{number:03d}")
        rows = [
            TreeAsPlanted(f"{n:05d}", lots[n % 20], "test", str(n // 100 + 1), n % 100 // 10 + 1, n % 10 + 1) for n in range(TREES_EACH)
        ]
        trees_plant(actor=actor, planting=planting, trees=rows)
        for season in range(1, seasons + 1):
            factories.census_round(planting, season, label=f"season {season}")
    return actor


def sheet(season, plantings=PLANTINGS):
    lines = [
        "Planting,Season,Tag,Status,Observed on,Cause of death or reason of removal,Height (cm),Diameter (mm),Canker class (0-4),Observer"
    ]
    day = datetime.date(2018 + season, 9, 12)
    for planting in range(plantings):
        for tree in range(TREES_EACH):
            dead = (tree * 7 + planting) % 5 == 0
            status, cause, height = ("D", "drought", "") if dead else ("A", "", f"{20 + tree % 90}.5")
            canker = "" if dead else tree % 3
            lines.append(
                f"P{planting:03d},season {season},{tree:05d},{status},{day},{cause},{height},{'' if dead else tree % 40 + 3},{canker},R. Counter"
            )
    return "\n".join(lines).encode()


def floor(rows):
    """The driver's own executemany into a table of the same columns and indexes."""
    base = sqlite3.connect(":memory:")
    base.execute(
        "create table observation (id integer primary key, uuid text unique, observed_on text, observer text, note text, entered_by integer,"
        " received_at text, supersedes integer unique, reason text, round integer, tree integer, status text, cause text, height real,"
        " diameter real, diameter_at real, canker integer, browse text, dieback integer)"
    )
    base.execute("create index o1 on observation(round, tree)")
    base.execute("create index o2 on observation(tree)")
    base.execute("create index o3 on observation(entered_by)")
    base.execute("create index o4 on observation(round)")
    data = [
        (
            uuid.uuid4().hex,
            "2019-09-12",
            "R. Counter",
            "",
            1,
            "2026-01-01 00:00:00",
            None,
            "",
            number // 1000,
            number,
            "A",
            "",
            20.5,
            8.0,
            None,
            0,
            "",
            None,
        )
        for number in range(rows)
    ]

    def insert():
        base.executemany(f"insert into observation values (null,{','.join('?' * 18)})", data)
        base.commit()

    return processor_seconds(insert)[0]


def own_floor(folder):
    """Processor seconds of the driver's executemany for the rows of the last season, in a copy of the records, each with a new identifier."""
    from django.db import connection

    path, copied = connection.settings_dict["NAME"], folder / "floor.sqlite3"
    connection.close()
    with contextlib.closing(sqlite3.connect(path)) as records, contextlib.closing(sqlite3.connect(copied, isolation_level=None)) as copy:
        records.backup(copy)
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "cache_size=-64000"):  # as the site sets them
            copy.execute(f"PRAGMA {pragma}")
        found = copy.execute(f"SELECT * FROM plantings_observation ORDER BY id DESC LIMIT {PLANTINGS * TREES_EACH}")
        names = [column for column, *_rest in found.description]
        data = [
            tuple({"id": None, "uuid": uuid.uuid4().hex}.get(name, value) for name, value in zip(names, row, strict=True)) for row in found
        ]

        def insert():
            copy.execute("BEGIN IMMEDIATE")
            copy.executemany(f"INSERT INTO plantings_observation VALUES ({','.join('?' * len(names))})", data)
            copy.execute("COMMIT")

        return processor_seconds(insert)[0]


def main():
    folder = open_book()
    actor = book_of_trees()
    from plantings.imports.loading import sheet_load
    from plantings.selectors.census.recount import recount_differences

    rows = PLANTINGS * TREES_EACH
    before = peak_mb()
    for season in (1, 2):
        content = sheet(season)
        taken, plan = processor_seconds(
            lambda content=content: sheet_load(actor=actor, kind="census", content=content, filename="census.csv")
        )
        floor_taken, last = floor(rows), taken
        report(
            f"census import, {rows:,} rows, season {season}", stored=f"{plan.counts['new']:,}", processor_seconds=f"{taken:.2f}",
            rows_a_second=f"{rows / taken:,.0f}", floor_rows_a_second=f"{rows / floor_taken:,.0f}", times_the_floor=f"{taken / floor_taken:.1f}",
            peak_MB=f"{peak_mb():.0f} (before: {before:.0f})",
        )  # fmt: skip
    taken, plan = processor_seconds(lambda: sheet_load(actor=actor, kind="census", content=content, filename="census.csv"))
    report(
        "the same sheet again", unchanged=f"{plan.counts['unchanged']:,}", rows_a_second=f"{rows / taken:,.0f}", peak_MB=f"{peak_mb():.0f}"
    )
    floor_taken = own_floor(folder)
    report(
        "the same rows by the driver alone, in a copy of the records", processor_seconds=f"{floor_taken:.2f}",
        rows_a_second=f"{rows / floor_taken:,.0f}", load_of_the_last_season_in_times_of_it=f"{last / floor_taken:.1f}",
    )  # fmt: skip
    checked, differences = recount_differences()
    report("recount", **{name: f"{count:,}" for name, count in checked.items()}, differences=len(differences))


if __name__ == "__main__":
    main()
