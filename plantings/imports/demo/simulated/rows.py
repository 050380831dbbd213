"""The sheets of a simulated programme as rows, made from its truth and a seed, in the order a user would load them."""

import csv
from collections.abc import Iterator

import numpy as np

from plantings.calc.census.measurements import CANKER, HEIGHT
from plantings.imports.demo.programme import material
from plantings.imports.demo.simulated.lives import ALIVE, DEAD, draw_planting
from plantings.imports.demo.simulated.truth import DONOR, NATIVE, Size, Truth

__all__ = ["LEAD", "simulated_rows", "truth_write"]

LEAD = {
    "username": "sim.lead", "first_name": "Sim", "last_name": "Lead", "email": "sim.lead@example.org", "role": "lead", "is_active": "yes",
}  # fmt: skip
_PARTNER = "PT-SIM"
_LAST_YEAR = 2025
_TREES_A_ROW = 20
_ROWS_A_FILE = 50_000
_CHECK_LOTS = {NATIVE: ("SIM-NAT", "Juglans cinerea", "native"), DONOR: ("SIM-DON", "Juglans ailantifolia", "donor")}


def simulated_rows(truth: Truth, seed: int) -> Iterator[tuple[str, list[dict[str, object]]]]:
    """(name of a sheet, rows) one after the other; a row is {field of the sheet: cell}.

    Trees and census come in several sheets of at most about 50,000 rows, a planting never in two of them.
    """
    yield "taxon", material.TAXA
    yield "lot", [_lot_row(truth, number) for number in range(truth.size.lots + len(_CHECK_LOTS))]
    yield "partner", [{"code": _PARTNER, "name": "Simulated land (invented)", "partner_kind": "agency", "region": "US-NY"}]
    yield "person", [LEAD]
    yield "site", _site_rows(truth, seed)
    yield "planting", [_planting_row(truth.size, number) for number in range(truth.size.plantings)]
    yield from _in_files("tree", truth, seed, truth.size.trees, _tree_rows)
    yield from _in_files("round", truth, seed, truth.size.rounds, _round_rows)
    census_rows = truth.size.trees * truth.size.rounds
    yield from _in_files("census", truth, seed, census_rows, lambda *given: _census_rows(*given, is_late=False))
    yield from _in_files("census_late", truth, seed, census_rows, lambda *given: _census_rows(*given, is_late=True))


def truth_write(path, truth: Truth, seed: int):
    """Write what is true of each lineage and season, a row each: its survival on these sites and over all sites there could be, its
    share without a canker and its height over all of those, and what became of the trees that were planted."""
    alive, planted = _counts(truth, seed)
    here, anywhere, clear, heights = truth.survival(), truth.survival_anywhere(), truth.clear_anywhere(), truth.heights_anywhere()
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(
            [
                "lineage", "value", "growing_seasons", "true_survival", "true_survival_anywhere", "true_share_without_canker",
                "true_height_cm", "planted", "truly_alive",
            ]
        )  # fmt: skip
        for number, name in enumerate(truth.names):
            for season in range(truth.size.rounds):
                writer.writerow(
                    [
                        name, f"{truth.values[number]:.6f}", season + 1, f"{here[number, season]:.6f}",
                        f"{anywhere[number, season]:.6f}", f"{clear[number, season]:.6f}", f"{heights[number, season]:.2f}",
                        planted[number], alive[number, season],
                    ]
                )  # fmt: skip


def _counts(truth, seed):
    """Trees truly alive (lineages × seasons) and planted (lineages), over all plantings."""
    alive = np.zeros((len(truth.names), truth.size.rounds), int)
    planted = np.zeros(len(truth.names), int)
    for number in range(truth.size.plantings):
        drawn = draw_planting(truth, number, seed)
        np.add.at(alive, drawn.lineages, drawn.alive)
        np.add.at(planted, drawn.lineages, 1)
    return alive, planted


def _in_files(name, truth, seed, rows_a_planting, rows_of):
    plantings = max(1, _ROWS_A_FILE // rows_a_planting)
    for first in range(0, truth.size.plantings, plantings):
        numbers = range(first, min(first + plantings, truth.size.plantings))
        rows = [row for number in numbers for row in rows_of(truth, number, seed)]
        if rows:
            yield name, rows


# -- one row of each ---------------------------------------------------------------------------


def _lot_code(truth, number):
    if number < truth.size.lots:
        return f"SIM-{number + 1:04d}"
    return _CHECK_LOTS[truth.names[truth.size.lineages + number - truth.size.lots]][0]


def _lot_row(truth, number):
    row = {"code": _lot_code(truth, number), "lot_kind": "stock", "origin": "outside", "year": _planting_year(truth.size) - 1}
    row |= {"outside_origin": "simulated", "note": "simulated"}
    if number < truth.size.lots:
        source = truth.names[number % truth.size.lineages]
        return row | {"taxon": "Juglans ×bixbyi", "generation": "B3F3", "declared_source": source, "declared_line": "Simulated"}
    _code, taxon, generation = _CHECK_LOTS[truth.names[truth.size.lineages + number - truth.size.lots]]
    return row | {"taxon": taxon, "generation": generation}


def _site_rows(truth, seed):
    random = np.random.default_rng([seed, 3])
    east, north = random.uniform(-78.5, -72.5, truth.size.sites), random.uniform(41.5, 44.5, truth.size.sites)
    return [
        {
            "code": _site_code(number), "name": f"Simulated site {number + 1}", "partner": _PARTNER,
            "longitude": round(float(east[number]), 5), "latitude": round(float(north[number]), 5), "status": "active",
        }
        for number in range(truth.size.sites)
    ]  # fmt: skip


def _planting_row(size, number):
    return {
        "code": _planting_code(number), "site": _site_code(number % size.sites), "planted_on": f"{_planting_year(size)}-04-20",
        "state": "established", "supply": "before_records", "stock_type": "bareroot 1-0", "design": "complete blocks, single-tree plots",
        "spacing_m": 3, "start_corner": "south-west", "walk": "serpentine",
    }  # fmt: skip


def _tree_rows(truth, number, seed):
    drawn = draw_planting(truth, number, seed)
    return [
        {
            "planting": _planting_code(number), "tag": _tag(tree), "lot": _lot_code(truth, lot),
            "role": "test" if lot < truth.size.lots else "check", "row": tree // _TREES_A_ROW + 1, "position": tree % _TREES_A_ROW + 1,
        }
        for tree, lot in enumerate(drawn.lots.tolist())
    ]  # fmt: skip


def _round_rows(truth, number, _seed):
    return [
        {
            "planting": _planting_code(number), "label": _label(year), "growing_seasons": season, "opens_on": f"{year}-09-01",
            "closes_on": f"{year}-10-31", "protocol_version": "simulated",
        }
        for season, year in enumerate(range(_planting_year(truth.size), _LAST_YEAR + 1), start=1)
    ]  # fmt: skip


def _census_rows(truth, number, seed, *, is_late):
    drawn = draw_planting(truth, number, seed)
    first_year = _planting_year(truth.size)
    rows = []
    for season in range(truth.size.rounds):
        year = first_year + season
        for tree in np.flatnonzero(drawn.is_late[:, season] == is_late).tolist():
            row = {
                "planting": _planting_code(number), "round": _label(year), "tag": _tag(tree), "status": str(drawn.status[tree, season]),
                "observed_on": f"{year}-09-{10 + number % 15:02d}", "observer": f"Crew {number % 7 + 1}", "accepted": "yes",
            }  # fmt: skip
            if row["status"] == ALIVE:
                row |= {HEIGHT.field: int(drawn.height_cm[tree, season]), CANKER.field: int(drawn.canker[tree, season])}
            elif row["status"] == DEAD:
                row["cause"] = str(drawn.cause[tree])
            rows.append(row)
    return rows


def _planting_year(size: Size):
    return _LAST_YEAR - size.rounds + 1


def _site_code(number):
    return f"SM-{number + 1:04d}"


def _planting_code(number):
    return f"SMP-{number + 1:05d}"


def _label(year):
    return f"{year} autumn"


def _tag(tree):
    return f"{tree + 1:05d}"
