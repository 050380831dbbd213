"""The thirty lots: seed of the seed orchard, stock raised from it, checks, one bulk, one lot from outside."""

from plantings.imports.demo.programme.layout import FILLER

_BEFORE = "before the roguing of March 2019"
_AFTER = "after the roguing of March 2019 (SL-K-02, SL-K-08 and SL-S-07 out)"
# Mother and ripening year of the seed lots of the seed orchard; each became one stock lot, sown in the next spring.
HARVESTS = (
    ("SL-K-02", 2017), ("SL-S-01", 2018), ("SL-S-02", 2018), ("SL-S-03", 2018), ("SL-K-01", 2018), ("SL-K-02", 2018),
    ("SL-S-01", 2019), ("SL-S-02", 2019), ("SL-K-01", 2019), ("SL-K-03", 2019),
)  # fmt: skip
BULK = "S19-BULK"
BULKED = {"S19-SLS02": 134, "S19-SLK01": 121, "S19-SLK03": 105}
SOWN_PLOTS = {BULK: 6, "S19-NAT": 2}  # plots of 60 nuts


def seed_code(mother, year):
    return f"S{year % 100}-{mother.replace('-', '')}"


def stock_code(mother, year):
    return f"P{(year + 1) % 100}-{mother.replace('-', '')}"


def lots():
    rows = []
    for mother, year in HARVESTS:
        rows.append(
            _lot(
                seed_code(mother, year),
                "seed",
                "harvest",
                year,
                "B3F3",
                mother=mother,
                pollen_pool=f"POOL-{mother[:4]}-{year}",
                cross_type="open",
                orchard_state=_AFTER if year >= 2019 else _BEFORE,
                storage_place="cold room 1",
                use_by=f"{year + 1}-06-30",
            )  # fmt: skip
        )
        parent = seed_code(mother, year)
        rows.append(_lot(stock_code(mother, year), "stock", "sown", year + 1, "B3F3", parent=parent, storage_place="nursery beds"))
    mixed = "mixed for direct seeding; the mother is unknown from here on"
    rows.append(_lot(BULK, "seed", "bulk", 2019, "B3F3", storage_place="cold room 1", use_by="2020-06-30", note=mixed))
    for year in (2018, 2019):
        rows += _checks(year)
    rows.append(
        _lot(
            FILLER,
            "stock",
            "outside",
            2020,
            "",
            taxon="Juglans nigra",
            outside_origin="Corncrake Nursery, Cortland, New York; local stand seed",
            storage_place="heeling-in bed",
            note="buffers and fillers only, never an entry",
        )  # fmt: skip
    )
    return rows


def _lot(code, kind, origin, year, generation, taxon="Juglans ×bixbyi", **rest):
    return {"code": code, "lot_kind": kind, "origin": origin, "year": year, "generation": generation, "taxon": taxon, **rest}


def _checks(year):
    """The three checks of one year. Donor and F1 nuts were sown on the day they were cleaned: there is no seed lot."""
    stock, sown_at_once = f"P{(year + 1) % 100}", "nuts sown as they were cleaned; first counted as seedlings"
    return [
        _lot(
            f"S{year % 100}-NAT", "seed", "harvest", year, "native", "Juglans cinerea", mother="JC-05", cross_type="open",
            storage_place="cold room 1", use_by=f"{year + 1}-06-30", note="susceptible check",
        ),
        _lot(
            f"{stock}-NAT", "stock", "sown", year + 1, "native", "Juglans cinerea", parent=f"S{year % 100}-NAT",
            storage_place="nursery beds", note="susceptible check",
        ),
        _lot(
            f"{stock}-DON", "stock", "harvest", year, "donor", "Juglans ailantifolia", mother="JA-01", father="JA-03",
            cross_type="controlled", storage_place="nursery beds", note=f"donor check; {sown_at_once}",
        ),
        _lot(
            f"{stock}-F1", "stock", "harvest", year, "F1", mother="JC-02", father="JA-01", cross_type="controlled",
            storage_place="nursery beds", note=f"F1 check; {sown_at_once}",
        ),
    ]  # fmt: skip
