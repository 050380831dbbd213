"""Which tree is planted where: complete blocks with single-tree plots, an edge of black walnut, a few replacements."""

from dataclasses import dataclass
from random import Random

from plantings.imports.demo.programme.places import PLANS

FILLER = "X20-NIG"
TESTS = {
    2020: ("P19-SLS01", "P19-SLS02", "P19-SLS03", "P19-SLK01", "P19-SLK02"),
    2021: ("P20-SLS01", "P20-SLS02", "P20-SLK01", "P20-SLK03"),
    2022: ("P20-SLS01", "P20-SLS02", "P20-SLK01", "P20-SLK03"),
}
EXTRA_ENTRY = "P18-SLK02"
CHECKS = {2020: ("P19-NAT", "P19-DON", "P19-F1"), 2021: ("P20-NAT", "P20-DON", "P20-F1"), 2022: ("P20-NAT", "P20-DON", "P20-F1")}
# How many dead of the first season are replaced, and when: only within the first dormant season.
REPLACED = {"ST-01-2020": (2, "2020-11-05"), "ST-05-2021": (3, "2021-11-11"), "ST-10-2022": (1, "2022-11-03")}


@dataclass
class PlantedTree:
    plan: object
    tag: str
    lot: str
    role: str
    block: str
    row: int
    position: int
    planted_on: str = ""
    replaces: str = ""

    def sheet_row(self):
        return {
            "planting": self.plan.code, "tag": self.tag, "lot": self.lot, "role": self.role, "block": self.block, "row": self.row,
            "position": self.position, "planted_on": self.planted_on, "replaces": self.replaces,
            "note": "replacement of the first dormant season" if self.replaces else "",
        }  # fmt: skip


def planted_trees(seed):
    """{planting code: list of PlantedTree}, tags in the order of the rows."""
    return {plan.code: _planting(plan, Random(f"{seed} layout {plan.code}")) for plan in PLANS}


def entries(plan):
    """(lot, role) of one block, before they are shuffled. Blocks are full rectangles of two rows: a filler takes an odd place."""
    tests = TESTS[plan.year] + ((EXTRA_ENTRY,) if plan.extra_entry else ())
    places = [(lot, "test") for lot in tests] + [(lot, "check") for lot in CHECKS[plan.year]]
    return places + [(FILLER, "filler")] * (len(places) % 2)


def _planting(plan, rng):
    trees, row = [], 0
    width = len(entries(plan)) // 2
    for block in range(1, plan.blocks + 1):
        places = entries(plan)
        rng.shuffle(places)
        for number, (lot, role) in enumerate(places):
            trees.append(PlantedTree(plan, "", lot, role, str(block), row + 1 + number // width, number % width + 1))
        row += 2
    for number in range(plan.edge):
        trees.append(PlantedTree(plan, "", FILLER, "buffer", "edge", row + 1 + number // width, number % width + 1))
    for number, tree in enumerate(trees, start=1):
        tree.tag = f"{number:04d}"
    return trees


def replacements(trees, first_season_dead):
    """The replacements of one planting: {tag of the dead: date} in, PlantedTree out; tags go on after the last."""
    made = []
    for dead, planted_on in first_season_dead.items():
        old = next(tree for tree in trees if tree.tag == dead)
        tag = f"{len(trees) + len(made) + 1:04d}"
        made.append(PlantedTree(old.plan, tag, old.lot, "filler", old.block, old.row, old.position, planted_on, old.tag))
    return made
