"""Growth as stored values: read back as it was, with a hash and numbers of what it is made from."""

import json

from plantings.calc.growth.growth import AWAITED, growth_cells, growth_of
from plantings.calc.growth.growth_values import about_growth, growth_sha256, growth_values, growth_work, read_growth
from plantings.calc.survival.measured import MeasuredGroup
from plantings.calc.survival.table import NATIVE


def measured(lineage, site, values, standard=""):
    return [MeasuredGroup((lineage,), "check" if standard else "test", standard, False, site, f"P-{site}", value, 2) for value in values]


BY_AGE = {
    2: [
        group
        for number, site in enumerate(("S1", "S2", "S3"))
        for group in (*measured("A", site, (120 + 9 * number, 131)), *measured("wild", site, (100, 104 + number), NATIVE))
    ],
    3: measured("A", "S1", (150, 160)),
}


def test_stored_growth_is_read_back_as_it_was():
    growth = growth_of(BY_AGE)
    assert growth.grown[growth.lineages[0], 2].difference is not None
    assert read_growth(json.loads(json.dumps(growth_values(growth)))) == growth


def test_plain_growth_has_the_means_of_the_trees_alone():
    plain = growth_of(BY_AGE, is_plain=True)
    assert plain.no_model == {2: AWAITED, 3: AWAITED}
    assert plain.grown[plain.lineages[0], 3].mean == 155  # (150 + 160) / 2


def test_the_hash_of_growth_is_of_what_it_says_in_any_order():
    assert growth_sha256({age: BY_AGE[age][::-1] for age in (3, 2)}) == growth_sha256(BY_AGE)
    assert growth_sha256(BY_AGE | {3: measured("A", "S1", (150, 161))}) != growth_sha256(BY_AGE)


def test_growth_says_of_how_much_it_is():
    # age 2: a lineage and the native checks on three sites, twice two trees each; age 3: the lineage on one site
    assert growth_work(BY_AGE) == 7 and sum(map(len, growth_cells(BY_AGE)[2].values())) == 6
    assert about_growth(BY_AGE) == {"lineages": 1, "sites": 3, "measured": 28}
