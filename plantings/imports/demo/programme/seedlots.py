"""What was done with the seed: pickings, tests, treatments, looks into the store; and the lots of the last two harvests."""

from random import Random

from plantings.imports.demo.programme.lots import HARVESTS, seed_code
from plantings.imports.demo.programme.people import NAMES

_MANAGER = NAMES["ada.thornquill"]
_PICKERS = [NAMES[name] for name in ("joss.pennywhit", "mina.farrowdale", "wren.oakhollow")]
SEED_LOTS = [seed_code(mother, year) for mother, year in HARVESTS] + ["S18-NAT", "S19-NAT"]
_AFTER_2021 = "after the roguing of March 2021 (SL-S-07 and SL-S-09 out of block S)"
LAST, PART, PLANTS, NEW = "S25-SLS02", "S25-SLS02-2", "P26-SLS02", "S26-SLS01"


def lots():
    """The last two harvests: one was split and sown, the other is in cold storage."""
    usual = {"lot_kind": "seed", "generation": "B3F3", "taxon": "Juglans ×bixbyi", "storage_place": "cold room 1"}
    open_pollinated = {"origin": "harvest", "cross_type": "open", "orchard_state": _AFTER_2021}
    return [
        usual | open_pollinated
        | {"code": LAST, "year": 2025, "mother": "SL-S-02", "pollen_pool": "POOL-SL-S-2025", "use_by": "2026-06-30"},
        usual | {"code": PART, "origin": "split", "year": 2025, "parent": LAST, "storage_place": "cold room 2", "use_by": "2027-06-30",
                 "note": "stored a second winter, to see how many die"},
        usual | {"code": PLANTS, "lot_kind": "stock", "origin": "sown", "year": 2026, "parent": LAST, "storage_place": "nursery beds"},
        usual | open_pollinated
        | {"code": NEW, "year": 2026, "mother": "SL-S-01", "pollen_pool": "POOL-SL-S-2026", "use_by": "2027-06-30"},
    ]  # fmt: skip


def ledger():
    """What the paper ledger has of these lots. Seeds used up by tests or discarded at a storage check are in those sheets."""
    rows = [
        (LAST, "harvested", 742, "2025-09-22", {"mass_g": 9230}),
        (LAST, "harvested", 438, "2025-09-24", {"mass_g": 5404}),
        (LAST, "discarded", 96, "2025-09-25", {"reason": "floaters"}),
        (LAST, "sown", 300, "2026-05-05", {"counterpart": PLANTS}),
        (LAST, "discarded", 167, "2026-06-30", {"reason": "past its date"}),
        (NEW, "harvested", 612, "2026-09-21", {"mass_g": 7571}),
        (NEW, "harvested", 350, "2026-09-23", {"mass_g": 4298}),
        (NEW, "discarded", 71, "2026-09-24", {"reason": "floaters"}),
        (PLANTS, "raised", 214, "2026-10-06", {"counterpart": LAST, "reason": "first count in the bed"}),
        (PLANTS, "discarded", 17, "2026-10-20", {"reason": "culled, too small; root collar under 6 mm"}),
        (PLANTS, "discarded", 4, "2026-10-20", {"reason": "culled, diseased; canker on the stem"}),
        (PLANTS, "discarded", 3, "2026-10-20", {"reason": "culled, misformed stem or root; forked"}),
    ]
    numbers = {}
    made = []
    for lot, entry, quantity, on, rest in rows:
        year = on[:4]
        numbers[year] = numbers.get(year, 0) + 1
        reference = f"{year}-{numbers[year]:03d}"
        made.append({"lot": lot, "entry": entry, "quantity": quantity, "on": on, "reference": reference, **rest})
    return made


def splits():
    return [{"part": PART, "on": "2026-03-02", "quantity": 150, "reason": "a second winter in cold storage, as a trial (example)"}]


def harvests(seed, ledger_rows):
    """The facts of every picking of the ledger."""
    rng = Random(f"{seed} pickings")
    rows = []
    for entry in ledger_rows:
        if entry["entry"] != "harvested":
            continue
        count = entry["quantity"]
        rows.append(
            {
                "lot": entry["lot"], "on": entry["on"], "reference": entry["reference"], "quantity": count, "mass_g": entry["mass_g"],
                "picker": rng.choice(_PICKERS), "fruits": count + rng.randint(0, 6), "containers": 1 + count // 200, "labels": "yes",
                "holder": "Mill Brook nursery (invented)",
            }
        )  # fmt: skip
    return rows


def tests(seed, ledger_rows):
    """Float and cut tests of every seed lot; moisture, mass and germination of the last two harvests."""
    rng = Random(f"{seed} tests")
    rows = []
    for lot in [*SEED_LOTS, LAST, NEW]:
        mine = [entry for entry in ledger_rows if entry["lot"] == lot]
        picked = sum(entry["quantity"] for entry in mine if entry["entry"] == "harvested")
        floaters = next(entry for entry in mine if entry.get("reason") == "floaters")
        sank = {"seeds": picked, "sound": picked - floaters["quantity"], "note": "the floaters were thrown away the same day"}
        rows.append(_test(lot, "float", floaters["on"], **sank))
        for cut in (entry for entry in mine if entry.get("reason") == "cut test"):
            note = f"ledger entry {cut['reference']} takes the nuts out"
            rows.append(_test(lot, "cut", cut["on"], **_cut(cut["quantity"], rng), note=note))
    rows += _of_last(rng) + _of_new(rng)
    return rows


def _of_last(rng):
    """One germination test whose two replicates differ too much, and the test repeated."""
    regime, moist = "30/20 °C, 40 days after 100 days at 3 °C", "ground and dried at 103 °C for 17 hours"
    return [
        _test(LAST, "cut", "2025-10-01", **_cut(50, rng), drawn=50),
        _test(LAST, "moisture", "2025-10-01", **_moisture(33.6), regime=moist, drawn=10),
        _test(LAST, "mass", "2025-10-02", replicates=_weighings(rng), note="eight times 100 nuts, all put back"),
        _test(LAST, "germination", "2026-02-20", replicates="71/100; 88/100", regime=regime, drawn=200,
              note="the two replicates differ too much; test again"),
        _test(LAST, "germination", "2026-04-03", replicates="83/100; 79/100", regime=regime, drawn=200, note="test repeated"),
    ]  # fmt: skip


def _of_new(rng):
    return [
        _test(NEW, "cut", "2026-10-01", **_cut(40, rng), drawn=40),
        _test(NEW, "moisture", "2026-10-01", **_moisture(35.1), regime="ground and dried at 103 °C for 17 hours", drawn=10),
        _test(NEW, "mass", "2026-10-02", replicates=_weighings(rng), note="eight times 100 nuts, all put back"),
    ]


def _test(lot, kind, on, **rest):
    return {"lot": lot, "test_kind": kind, "tested_on": on, "tested_by": _MANAGER, **rest}


def _cut(seeds, rng):
    infested, empty = rng.randint(0, seeds // 12), rng.randint(0, seeds // 15)
    return {"seeds": seeds, "sound": seeds - infested - empty, "infested": infested, "mouldy": 0, "empty": empty}


def _moisture(percent):
    container, wet = 21.4, 60.0
    return {"container_g": container, "wet_g": container + wet, "dry_g": round(container + wet * (1 - percent / 100), 2)}


def _weighings(rng):
    return "; ".join(f"{rng.gauss(1240, 22):.1f} g/100" for _ in range(8))


def treatments():
    """Cold over winter for every lot; hot water for the native checks, once too cool; bleach for one lot."""
    rows = []
    for lot in SEED_LOTS:
        year = 2000 + int(lot[1:3])
        rows.append(_treatment(lot, "cold", f"{year}-10-20", f"{year + 1}-04-28", 3, product="damp peat and sand"))
    thermometer = {"thermometer": "glass thermometer 3"}
    rows += [
        _treatment("S18-NAT", "hot_water", "2018-09-26", "2018-09-26", 45, minutes=30, **thermometer),
        _treatment(
            "S19-NAT",
            "hot_water",
            "2019-09-27",
            "2019-09-27",
            42.5,
            minutes=30,
            **thermometer,
            note="the bath cooled; live larvae found later",
        ),
        _treatment(LAST, "surface", "2025-09-26", "2025-09-26", "", minutes=5, product="household bleach, 1 part in 10, rinsed twice"),
        _treatment(LAST, "cold", "2025-11-12", "2026-04-30", 3, product="damp peat and sand"),
        _treatment(PART, "cold", "2026-11-16", "", 3, product="damp peat and sand"),
        _treatment(NEW, "hot_water", "2026-09-25", "2026-09-25", 45, minutes=30, **thermometer),
        _treatment(NEW, "cold", "2026-11-16", "", 3, product="damp peat and sand"),
    ]
    return rows


def _treatment(lot, kind, started_on, ended_on, temperature_c, **rest):
    return {
        "lot": lot, "treatment_kind": kind, "started_on": started_on, "ended_on": ended_on, "temperature_c": temperature_c,
        "operator": _MANAGER, **rest,
    }  # fmt: skip


def storage(seed):
    """Looks in December, February and April; a few nuts have sprouted by spring."""
    rng = Random(f"{seed} store")
    rows = []
    for lot in SEED_LOTS:
        year = 2000 + int(lot[1:3])
        rows += [
            _look(lot, f"{year}-12-05", rng, sprouted=0, mouldy=0),
            _look(lot, f"{year + 1}-02-10", rng, sprouted=0, mouldy=rng.randint(0, 6) / 2, note="mouldy nuts: see the ledger"),
            _look(lot, f"{year + 1}-04-15", rng, sprouted=rng.randint(2, 9) / 2, mouldy=0, radicle_mm=rng.randint(1, 4)),
        ]
    rows += [
        _look(LAST, "2025-12-08", rng, sprouted=0, mouldy=0),
        _look(LAST, "2026-01-12", rng, sprouted=0, mouldy=0.6, discarded=7),
        _look(LAST, "2026-03-02", rng, sprouted=1.5, mouldy=0, radicle_mm=1),
        _look(LAST, "2026-04-20", rng, sprouted=4, mouldy=0, radicle_mm=5, note="sow soon"),
        _look(PART, "2026-11-20", rng, place="cold room 2", sprouted=6, mouldy=2, radicle_mm=8),
        _look(NEW, "2026-11-20", rng, sprouted=0, mouldy=0),
    ]
    return rows


def _look(lot, on, rng, place="cold room 1", sprouted=0, mouldy=0, **rest):
    return {
        "lot": lot, "on": on, "place": place, "temperature_c": rng.randint(5, 9) / 2, "feel": rng.choice(("damp", "damp", "damp", "dry")),
        "sprouted_percent": sprouted, "mouldy_percent": mouldy, "by": _MANAGER, **rest,
    }  # fmt: skip
