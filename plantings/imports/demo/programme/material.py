"""Taxa, founders, the orchard trees with their controlled crosses, and the pollen pools."""

from random import Random

from plantings.imports.demo.programme.description import DESCRIPTION

TAXA = [
    {"name": "Juglans cinerea", "common_name": "butternut", "role": "native"},
    {"name": "Juglans ailantifolia", "common_name": "Japanese walnut", "role": "donor"},
    {"name": "Juglans ×bixbyi", "common_name": "buartnut", "hybrid_of": "Juglans ailantifolia × Juglans cinerea", "role": "hybrid"},
    {"name": "Juglans nigra", "common_name": "black walnut", "role": "other"},
]

LINES = DESCRIPTION["orchard"]["lines"]
SOURCES = DESCRIPTION["orchard"]["sources"]
BLOCK_OF_SOURCE = {"Shiro": "S", "Kiku": "K"}
# Trees of each generation and source: (how many, breeding block, planted year); 60 in all.
GENERATIONS = {"F1": (3, "A", 1986), "B1": (5, "A", 1992), "B2": (6, "B", 1998), "B3": (7, "C", 2004), "B3F2": (9, "", 2010)}

_ROGUED_2019 = "{score} tenths of the girth on the example girdling scale in 2018; same day F1 check 4, native check 9; stump treated"
ROGUED = {
    "MB-A-014": ("2000-05-18", "weak form, forked from the base; two sisters kept"),
    "MB-B-005": ("2007-05-30", "8 tenths of the girth on the example girdling scale; native check of the day 9"),
    "MB-C-004": ("2012-06-04", "7 tenths of the girth on the example girdling scale; native check of the day 8"),
    "MB-C-011": ("2014-06-02", "8 tenths of the girth on the example girdling scale; native check of the day 9"),
    "SL-K-02": ("2019-03-12", _ROGUED_2019.format(score="7")),
    "SL-K-08": ("2019-03-12", _ROGUED_2019.format(score="8")),
    "SL-S-07": ("2019-03-12", _ROGUED_2019.format(score="6")),
    "SL-S-09": ("2021-03-16", "7 tenths of the girth on the example girdling scale in 2020; same day F1 check 5, native check 8"),
}
DEAD = {
    "JC-03": ("2008-09-01", "canker; grafts are in the archive"),
    "JC-09": ("2014-08-15", "canker; no graft was taken in time"),
    "MB-A-005": ("2011-10-30", "thrown by the October snow"),
}
POOLS = (("S", 2017), ("K", 2017), ("S", 2018), ("K", 2018), ("S", 2019), ("K", 2019))


def founders():
    """Fifteen trees: three Japanese walnuts (two of them sources of resistance), twelve native recurrent parents."""
    donors = [
        {"code": "JA-01", "source_of_resistance": "Shiro", "note": "old yard tree, healthy beside dying butternuts"},
        {"code": "JA-02", "source_of_resistance": "Kiku", "note": "arboretum tree, clean after two inoculations"},
        {"code": "JA-03", "note": "pollen parent of the donor check only"},
    ]
    rows = [row | {"taxon": "Juglans ailantifolia", "generation": "donor", "cross_type": "unknown"} for row in donors]
    for number, line in enumerate(LINES, start=1):
        code = f"JC-{number:02d}"
        rows.append({"code": code, "taxon": "Juglans cinerea", "generation": "native", "cross_type": "unknown", "recurrent_line": line})
    return [row | _status(row["code"]) for row in rows]


def orchard_trees(seed):
    """Sixty trees, F1 to B3F2, each from a controlled cross; sisters of one cross are rare, as an orchard needs."""
    rng = Random(f"{seed} crosses")
    natives = {f"JC-{number:02d}": line for number, line in enumerate(LINES, start=1)}
    trees, by_cross = {}, {}
    used = {donor: frozenset() for donor in SOURCES.values()}  # native ancestors of a tree
    numbers = dict.fromkeys("ABCSK", 0)
    for generation in GENERATIONS:
        for source in SOURCES:
            fathers = by_cross.get(source, [SOURCES[source]])
            made = []
            for number in range(GENERATIONS[generation][0]):
                if generation == "B3F2":
                    mother, father = _intercross(rng, fathers, trees, made)
                else:
                    father = fathers[number % len(fathers)]
                    mother = rng.choice(sorted(natives.keys() - used[father] - {trees[code]["mother"] for code in made}))
                block = GENERATIONS[generation][1] or BLOCK_OF_SOURCE[source]
                numbers[block] += 1
                row = _orchard_row(generation, source, block, numbers[block], mother, father)
                row["recurrent_line"] = natives.get(mother) or trees[mother]["recurrent_line"]
                used[row["code"]] = used[father] | (used.get(mother) or {mother})
                trees[row["code"]] = row
                made.append(row["code"])
            by_cross[source] = made
    # an intercross has two lines, one from each parent: they are derived
    return [row | {"recurrent_line": ""} if row["generation"] == "B3F2" else row for row in trees.values()]


def _intercross(rng, parents, trees, made):
    """Two selected B3 of one source that share neither line nor B2 parent; each cross once."""
    done = {(trees[code]["mother"], trees[code]["father"]) for code in made}
    pairs = [
        (one, other)
        for one in parents
        for other in parents
        if trees[one]["recurrent_line"] != trees[other]["recurrent_line"]
        and trees[one]["father"] != trees[other]["father"]
        and (one, other) not in done
    ]
    seldom = {one: sum(one in pair for pair in done) for one in parents}
    fewest = min(seldom[one] + seldom[other] for one, other in pairs)
    return rng.choice([pair for pair in pairs if seldom[pair[0]] + seldom[pair[1]] == fewest])


def _orchard_row(generation, source, block, number, mother, father):
    seed_orchard = generation == "B3F2"
    code = f"SL-{block}-{number:02d}" if seed_orchard else f"MB-{block}-{number:03d}"
    row = {
        "code": code, "taxon": "Juglans ×bixbyi", "mother": mother, "father": father, "cross_type": "controlled",
        "generation": generation, "source_of_resistance": source, "orchard": "Stony Lot" if seed_orchard else "Mill Brook", "block": block,
        "plot": str((number + 2) // 3), "row": (number - 1) // 6 + 1, "position": (number - 1) % 6 + 1,
        "planted_year": GENERATIONS[generation][2], "regulated_engineered": "no",
        "first_flowering_year": GENERATIONS[generation][2] + 4 + number % 3 if seed_orchard else "",
    }  # fmt: skip
    return row | _status(code)


def _status(code):
    """Those that were rogued or died have their steps in the sheet of the status history."""
    return {} if code in ROGUED or code in DEAD else {"status": "standing"}


def pools():
    """One pool for each seed orchard block and year; the roguing of March 2019 was between two of them."""
    shares = {2017: 0.15, 2018: 0.1, 2019: 0.125}
    rows = []
    for block, year in POOLS:
        out = [code for code, (on, _reason) in ROGUED.items() if code.startswith(f"SL-{block}") and on < f"{year}-05"]
        state = f"all nine trees but {' and '.join(out)}, rogued before" if out else "all nine trees alive"
        rows.append(
            {
                "code": f"POOL-SL-{block}-{year}",
                "orchard": "Stony Lot",
                "block": block,
                "flowering_year": year,
                "outside_share": shares[year],
                "outside_taxon": "Juglans cinerea",
                "note": f"{state}; outside share estimated from the nearest wild butternuts",
            }  # fmt: skip
        )
    return rows
