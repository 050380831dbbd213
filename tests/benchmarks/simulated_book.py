"""A large book of the programme that `simulate` draws, stored past its sheets.

Taxa and lots are loaded from the sheets of `simulate`; all else is drawn by it and stored in bulk: sites and plantings (a planting on each
site, with a jurisdiction in turn), trees, rounds up to a year of our choice, records and their tallies. The tallies are counted by the
functions that count those of any planting, of the drawn records as they are in memory; some plantings are then compared with a recount.
No record comes in late, and none is reviewed.
"""

import datetime
import sys
import uuid
from itertools import count, islice

import numpy as np

SEED = 1
PLANTINGS_AT_ONCE, RECOUNTED = 50, 5
TREES_A_ROW = 20
JURISDICTIONS = ("US-VT", "US-NY", "US-PA", "US-OH", "US-WI")
STAMP = datetime.datetime(2025, 12, 1, tzinfo=datetime.UTC)


def fill(size, last_year):
    """Make the book of a Size of `simulate`."""
    from django.db import connection, transaction

    from plantings.imports.demo.sheets import sheet_csv
    from plantings.imports.demo.simulated.rows import LEAD, simulated_rows
    from plantings.imports.demo.simulated.truth import Wrong, draw_truth
    from plantings.imports.kinds import KINDS
    from plantings.imports.loading import sheet_load
    from plantings.models import Planting, Site
    from plantings.selectors.census.recount import tally_differences
    from plantings.services.demo import demo_lead_make
    from registry.models import Lot, Partner

    truth = draw_truth(size, Wrong(), SEED)
    lead = demo_lead_make(**{name: value for name, value in LEAD.items() if name != "is_active"})
    sheets = dict(islice(simulated_rows(truth, SEED), 6))
    for kind in ("taxon", "lot"):
        sheet_load(actor=lead, kind=kind, content=sheet_csv(KINDS[kind], sheets[kind]), filename=f"{kind}.csv", reason="")
    partner = Partner.objects.create(code="PT-SIM", name="Simulated land (invented)", kind="agency")
    sites = Site.objects.bulk_create(
        Site(partner=partner, jurisdiction=JURISDICTIONS[number % len(JURISDICTIONS)],
             **{name: row[name] for name in ("code", "name", "longitude", "latitude", "status")})
        for number, row in enumerate(sheets["site"])
    )  # fmt: skip
    planted_on = datetime.date(last_year - size.rounds + 1, 4, 20)
    plantings = Planting.objects.bulk_create(
        Planting(code=row["code"], site=sites[number % size.sites], planted_on=planted_on, state="established", supply="before_records")
        for number, row in enumerate(sheets["planting"])
    )
    keys = dict(Lot.objects.values_list("code", "pk"))
    book = _Book(truth, [keys[row["code"]] for row in sheets["lot"]], lead.pk, last_year)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA cache_size=-1000000")  # 1 GB
    for first in range(0, size.plantings, PLANTINGS_AT_ONCE):
        with transaction.atomic():
            for number, planting in enumerate(plantings[first : first + PLANTINGS_AT_ONCE], start=first):
                book.fill(number, planting.pk)
        print(f"{min(first + PLANTINGS_AT_ONCE, size.plantings):,} plantings", flush=True)
    for planting in plantings[:: max(1, size.plantings // RECOUNTED)]:
        if differences := tally_differences(planting)[2]:
            sys.exit(f"The tallies of {planting} are not those of a recount: {differences[:3]}")


class _Book:
    """Stores one drawn planting after the other, with the next keys of each table."""

    def __init__(self, truth, lots, lead, last_year):
        self.truth, self.lots, self.lead = truth, lots, lead
        self.years = range(last_year - truth.size.rounds + 1, last_year + 1)
        self.keys = {name: count(1) for name in ("entry", "tree", "round", "record")}

    def fill(self, number, planting):
        from plantings.imports.demo.simulated.lives import draw_planting
        from plantings.models import CensusRound, PlantingEntry, Tree
        from registry.services.shared.bulk_insert import bulk_insert

        size, drawn = self.truth.size, draw_planting(self.truth, number, SEED)
        lots, group = np.unique(drawn.lots, return_inverse=True)
        entries = [next(self.keys["entry"]) for _lot in lots]
        rows = [
            (key, planting, self.lots[lot], "test" if lot < size.lots else "check") for key, lot in zip(entries, lots.tolist(), strict=True)
        ]
        bulk_insert(PlantingEntry, ["id", "planting", "lot", "role"], rows)
        trees = [next(self.keys["tree"]) for _tree in group]
        names = ["id", "planting", "entry", "tag", "walk_number", "row", "position", "occupant", "fate"]
        rounds = [next(self.keys["round"]) for _year in self.years]
        fates = self.count(drawn, group, entries, trees, rounds)
        bulk_insert(
            Tree, names,
            [
                (key, planting, entries[entry], f"{place + 1:05d}", place + 1, place // TREES_A_ROW + 1, place % TREES_A_ROW + 1, 1, fate)
                for place, (key, entry, fate) in enumerate(zip(trees, group.tolist(), fates, strict=True))
            ],
        )  # fmt: skip
        bulk_insert(
            CensusRound, ["id", "planting", "label", "growing_seasons", "opens_on", "closes_on", "protocol_version"],
            [
                (key, planting, f"{year} autumn", season, datetime.date(year, 9, 1), datetime.date(year, 10, 31), "simulated")
                for season, (key, year) in enumerate(zip(rounds, self.years, strict=True), start=1)
            ],
        )  # fmt: skip
        self.record(number, drawn, trees, rounds)

    def record(self, number, drawn, trees, rounds):
        from plantings.imports.demo.simulated.lives import ALIVE, DEAD
        from plantings.models import Observation
        from registry.services.shared.bulk_insert import bulk_insert

        rows, observer = [], f"Crew {number % 7 + 1}"
        for season, (year, census_round) in enumerate(zip(self.years, rounds, strict=True)):
            day = datetime.date(year, 9, 10 + number % 15)
            columns = (column[:, season].tolist() for column in (drawn.status, drawn.height_cm, drawn.canker))
            for tree, cause, status, height, canker in zip(trees, drawn.cause.tolist(), *columns, strict=True):
                alive = status == ALIVE
                rows.append(
                    (
                        uuid.UUID(int=next(self.keys["record"])), census_round, tree, status, cause if status == DEAD else "", day, observer,
                        height if alive else None, canker if alive else None, self.lead, STAMP,
                    )
                )  # fmt: skip
        names = ["uuid", "round", "tree", "status", "cause", "observed_on", "observer", "height_cm", "canker_class"]
        bulk_insert(Observation, [*names, "entered_by", "received_at"], rows)

    def count(self, drawn, group, entries, trees, rounds):
        """Store the tallies, and give the last fate of each tree."""
        from plantings.calc.census.codes import status_code
        from plantings.calc.census.planting_fates import histories
        from plantings.calc.census.tallies import TreeRecords, group_tallies
        from plantings.calc.survival.completeness import Progress
        from plantings.imports.demo.simulated.lives import ALIVE, DEAD
        from plantings.models import CauseTally, RoundProgress, SurvivalTally
        from plantings.selectors.census.tallies import COUNT_FIELDS, TALLIES_EDITION, by_key, fates_now, progress_of
        from registry.services.shared.bulk_insert import bulk_insert

        words, status = np.unique(drawn.status, return_inverse=True)
        codes = np.array([status_code(word, "unknown") for word in words.tolist()], np.uint8)[status.reshape(drawn.status.shape)]
        causes, cause = np.unique(drawn.cause, return_inverse=True)
        causes = ["", *causes.tolist()]
        cause = np.where(drawn.status == DEAD, cause[:, None] + 1, 0).astype(np.uint8)
        records = TreeRecords(codes, np.where(drawn.status == ALIVE, drawn.canker, -1).astype(np.int8), cause)
        history = histories(codes)
        tallies = group_tallies(records, history, group, len(entries), len(causes))
        counts, of_cause = by_key(tallies, rounds, entries, causes)
        bulk_insert(SurvivalTally, ["round", "entry", *COUNT_FIELDS], [(*key, *map(int, found)) for key, found in counts.items()])
        bulk_insert(CauseTally, ["round", "entry", "cause", "trees"], [(*key, found) for key, found in of_cause.items()])
        progress = progress_of(counts, rounds, dict.fromkeys(entries, False))
        rows = [(*key, *map(int, found), TALLIES_EDITION) for key, found in progress.items()]
        bulk_insert(RoundProgress, ["round", "sown", *Progress._fields, "edition"], rows)
        return fates_now(history, trees).values()
