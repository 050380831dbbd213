"""What is known of the orchard trees: check trees, who shed pollen, ratings, decisions, status steps, identity, measured shares."""

from random import Random

from plantings.imports.demo.programme.description import DESCRIPTION
from plantings.imports.demo.programme.material import DEAD, POOLS, ROGUED
from plantings.imports.demo.programme.people import NAMES

_MANAGER, _LEAD, _COORDINATOR = (NAMES[name] for name in ("ada.thornquill", "ines.calderwood", "tomas.wexcombe"))
NATIVE, DONOR, F1 = "SL-C-01", "SL-C-02", "SL-C-03"
_CHECK = {
    "orchard": "Stony Lot",
    "block": "C",
    "plot": "1",
    "row": 1,
    "planted_year": 2010,
    "status": "standing",
    "regulated_engineered": "no",
}
CHECK_TREES = [
    {"code": NATIVE, "taxon": "Juglans cinerea", "cross_type": "unknown", "generation": "native", "position": 1,
     "note": "native check of the rating days; graft of JC-05"},
    {"code": DONOR, "taxon": "Juglans ailantifolia", "cross_type": "unknown", "generation": "donor", "position": 2,
     "note": "donor check of the rating days; graft of JA-01"},
    {"code": F1, "taxon": "Juglans ×bixbyi", "mother": "JC-02", "father": "JA-01", "cross_type": "controlled", "generation": "F1",
     "position": 3, "note": "F1 check of the rating days"},
]  # fmt: skip
SEED_TREES = [f"SL-{block}-{number:02d}" for block in "SK" for number in range(1, 10)]
_SCALE = DESCRIPTION["rating_scale"]
# Day, method, day of the inoculation, scores of the native, donor and F1 check; nobody rated the checks on the day of 2023.
RATING_DAYS = (
    ("2018-05-29", "large_stem", "2017-06-13", (9, 1, 4)),
    ("2020-06-09", "large_stem", "2019-06-11", (8, 1, 5)),
    ("2023-06-06", "natural", "", ()),
    ("2026-06-02", "large_stem", "2025-06-10", (9, 0, 4)),
)
# Scores that a later roguing rests on.
_SCORED = {
    ("SL-K-02", "2018"): 7, ("SL-K-08", "2018"): 8, ("SL-S-07", "2018"): 6, ("SL-S-09", "2020"): 7,
    ("SL-K-05", "2023"): 6, ("SL-S-05", "2026"): 7, ("SL-K-05", "2026"): 3,
}  # fmt: skip
_STUMP = {"MB-B-005": "no", "MB-C-004": "yes", "MB-C-011": "yes", "SL-K-02": "yes", "SL-K-08": "yes", "SL-S-07": "yes", "SL-S-09": "yes"}
RECENT_POOLS = (("S", 2025, "2025-05-27"), ("S", 2026, "2026-05-23"))
WEIGHED_POOL = "POOL-SL-K-2019"


def scales():
    source = f"example, invented for this demo: {_SCALE['about']}"
    return [{name: value for name, value in _SCALE.items() if name != "about"} | {"disease": "butternut canker", "source": source}]


def check_trees():
    return [_CHECK | tree for tree in CHECK_TREES]


def recent_pools():
    """Pools of the last two harvests, with their day of flowering."""
    return [
        {
            "code": f"POOL-SL-{block}-{year}", "orchard": "Stony Lot", "block": block, "flowering_year": year, "flowered_on": day,
            "outside_share": 0.1, "outside_taxon": "Juglans cinerea", "note": "SL-S-07 and SL-S-09 were rogued before",
        }
        for block, year, day in RECENT_POOLS
    ]  # fmt: skip


def pool_members(seed):
    """Every tree alive in the block on 1 June of the year; catkins were counted for one pool."""
    rng = Random(f"{seed} catkins")
    rows = []
    for block, year in [*POOLS, *((block, year) for block, year, _day in RECENT_POOLS)]:
        pool = f"POOL-SL-{block}-{year}"
        for tree in _trees_standing_on(f"{year}-06-01"):
            if tree[3] != block:
                continue
            row = {"pool": pool, "tree": tree}
            if pool == WEIGHED_POOL:
                row |= {"weight": rng.randint(60, 420), "basis": "catkins counted on four branches in May 2019"}
            rows.append(row)
    return rows


def _trees_standing_on(day):
    return [tree for tree in SEED_TREES if tree not in ROGUED or ROGUED[tree][0] > day]


def ratings(seed):
    """Four days in the seed orchard. Those rated before keep about their score."""
    rng = Random(f"{seed} ratings")
    usual = {tree: rng.choice((2, 2, 3, 3, 4, 4, 5)) for tree in SEED_TREES}
    rows = []
    for day, method, inoculated, checks in RATING_DAYS:
        scores = dict(zip((NATIVE, DONOR, F1), checks, strict=False))
        for tree in _trees_standing_on(day):
            scores[tree] = _SCORED.get((tree, day[:4]), usual[tree] + rng.choice((-1, 0, 0, 1)))
        rows += [_rating(tree, score, day, method, inoculated, rng) for tree, score in scores.items()]
    return rows


def _rating(tree, score, day, method, inoculated, rng):
    row = {
        "tree": tree, "scale_name": _SCALE["name"], "scale_version": _SCALE["version"], "rated_on": day, "method": method,
        "inoculated_on": inoculated, "score": score, "rater": _MANAGER,
    }  # fmt: skip
    if method == "natural":
        return row | {"note": "natural canker; the check trees were not rated that day"}
    length = max(4, round(14 + 5.6 * score + rng.gauss(0, 3)))
    return row | {"strain": "example strain 1", "canker_length_mm": length, "canker_width_mm": round(length * rng.uniform(0.25, 0.4))}


# Roguing these breaks a floor of diversity, one standing mother of the line being left.
_ANSWERS = {
    "MB-C-011": "a graft of JC-12 is to be crossed again for the line Saranac",
    "SL-S-05": "SL-S-01 carries the line Baraboo too and bears well; MB-C-001 is still alive",
}


def decisions():
    """Two people decide. The last one to be rogued has not been cut yet."""
    first, second, third, last = "2018-11-20", "2020-11-17", "2023-11-14", "2026-10-20"
    rows = [
        _decision("MB-C-004", "rogued", "2012-05-15", ROGUED["MB-C-004"][1]),
        _decision("MB-C-011", "rogued", "2014-05-20", ROGUED["MB-C-011"][1]),
    ]
    for tree in ("SL-K-02", "SL-K-08", "SL-S-07"):
        evidence = f"{_SCORED[tree, '2018']} tenths girdled; F1 check of the day 4, native check 9"
        rows.append(_decision(tree, "rogued", first, evidence, "2018-05-29"))
    for tree in ("SL-S-01", "SL-S-02", "SL-K-01", "SL-K-03"):
        rows.append(_decision(tree, "kept", first, "clean stem, straight, bears well", "2018-05-29"))
    rows += [
        _decision("SL-S-09", "rogued", second, "7 tenths girdled; F1 check of the day 5, native check 8", "2020-06-09"),
        _decision("SL-K-05", "held", third, "natural canker on the stem, but no check was rated that day", "2023-06-06"),
        _decision("SL-S-05", "rogued", last, "7 tenths girdled; F1 check of the day 4, native check 9", "2026-06-02"),
        _decision("SL-K-05", "kept", last, "3 tenths girdled; F1 check of the day 4", "2023-06-06; 2026-06-02"),
    ]
    return rows


def _decision(tree, decision, on, evidence, rests_on=""):
    return {
        "tree": tree, "decided_on": on, "decision": decision, "evidence": evidence,
        "method": "beside the checks of the day (example)" if rests_on else "", "ratings": rests_on, "first_name": _MANAGER,
        "second_name": _LEAD if on >= "2018" else _COORDINATOR, "warnings_answer": _ANSWERS.get(tree, "") if decision == "rogued" else "",
    }  # fmt: skip


def statuses():
    """The steps that end a tree, and one that was given up too early."""
    rows = [
        {"tree": code, "status": "rogued", "status_on": on, "status_reason": reason, "stump_treated": _STUMP.get(code, "")}
        for code, (on, reason) in ROGUED.items()
    ]
    rows += [{"tree": code, "status": "dead", "status_on": on, "status_reason": reason} for code, (on, reason) in DEAD.items()]
    rows += [
        {"tree": "MB-A-016", "status": "dead", "status_on": "2013-05-28", "status_reason": "no leaves at the end of May"},
        {
            "tree": "MB-A-016",
            "status": "standing",
            "status_on": "2013-07-16",
            "status_reason": "leafed out in July from the lower limbs; late frost",
        },
    ]
    return sorted(rows, key=lambda row: (row["status_on"], row["tree"]))


def shares():
    method, laboratory = "SNP panel, mean over markers (example)", "Larkmere laboratory (invented)"
    found = [
        ("tree", "MB-A-001", "2021-06-15", 0.5008, 0.0102, 1, ""),
        ("tree", "SL-S-01", "2021-06-15", 0.0713, 0.0093, 1, ""),
        ("tree", "SL-K-03", "2021-06-15", 0.0521, 0.0088, 1, ""),
        ("tree", "SL-S-08", "2021-06-15", 0.1412, 0.0097, 1, "higher than its crosses let expect; see the evidence of identity"),
        ("lot", "P20-SLS02", "2021-06-22", 0.066, 0.0061, 24, "leaves of 24 seedlings at lifting"),
    ]
    return [
        {
            kind: code, "sampled_on": day, "donor_share": share, "standard_error": error, "sample_size": size, "markers": 96,
            "method": method, "laboratory": laboratory, "reference": f"EX-G-{number:03d}", "note": note,
        }
        for number, (kind, code, day, share, error, size, note) in enumerate(found, start=1)
    ]  # fmt: skip


def evidence():
    rows = [
        ("tree", "SL-S-01", "label", "supports", "2019-05-20", _MANAGER, "tag on the stem, same code as the map", ""),
        ("tree", "MB-C-008", "label", "open", "2019-05-21", _MANAGER, "tag lost; the place agrees with the map of 2004", ""),
        ("pool", "POOL-SL-S-2019", "record", "supports", "2019-06-04", _COORDINATOR, "eight trees on map and walk list", ""),
        ("lot", "S19-BULK", "record", "supports", "2019-10-08", _MANAGER, "three bags, three slips, one tally", ""),
        ("lot", "P20-SLK03", "phenotype", "supports", "2021-08-12", _MANAGER, "buds and leaf scars of butternut on 20 of 20", ""),
        ("tree", "SL-K-03", "genotype", "supports", "2021-07-08", "Larkmere laboratory", "both parents fit at all 96 markers", "EX-G-003"),
        ("tree", "SL-S-08", "genotype", "contradicts", "2021-07-08", "Larkmere laboratory",
         "father MB-C-006 is excluded at 9 of 96 markers; the mother fits", "EX-G-004"),
    ]  # fmt: skip
    return [
        {about: code, "evidence_kind": kind, "outcome": outcome, "on": on, "by": by, "text": text, "reference": reference}
        for about, code, kind, outcome, on, by, text, reference in rows
    ]
