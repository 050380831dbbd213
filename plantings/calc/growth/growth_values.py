"""Growth as plain values that can be stored and read back, and what it is made from as a hash and in numbers.

Source
------
Definition of this programme.
"""

import hashlib
from collections.abc import Mapping, Sequence

from plantings.calc.fits.check import read_check
from plantings.calc.growth.growth import Grown, Growth, GrowthGroup, growth_cells
from plantings.calc.results import Difference
from plantings.calc.survival.measured import MeasuredGroup


def growth_values(growth: Growth) -> dict:
    """The Growth as what JSON holds."""
    place = {group: number for number, group in enumerate(growth.groups)}
    rows = [[place[group], age, *one[:-1], one.difference and [*one.difference]] for (group, age), one in growth.grown.items()]
    groups = [[group.standard, str(group.label)] for group in growth.groups]
    return {
        "ages": [*growth.ages], "groups": groups, "grown": rows, "no_model": [[age, str(why)] for age, why in growth.no_model.items()],
        "checks": [[age, check.values()] for age, check in growth.checks.items()],
    }  # fmt: skip


def read_growth(values: dict) -> Growth:
    """The Growth of `growth_values`."""
    groups = tuple(GrowthGroup(*group) for group in values["groups"])
    grown = {
        (groups[place], age): Grown(*row, Difference(*difference) if difference else None)
        for place, age, *row, difference in values["grown"]
    }
    checks = {age: read_check(check) for age, check in values.get("checks", ())}
    return Growth(tuple(values["ages"]), groups, grown, dict(map(tuple, values["no_model"])), checks)


def growth_work(by_age: Mapping[int, Sequence[MeasuredGroup]]) -> int:
    """How much work the models are.

    Parameters
    ----------
    by_age : mapping of age in growing seasons to measured groups

    Returns
    -------
    int
        Lineages and checks on each site, added up over the ages.
    """
    return sum(len(found) for cells in growth_cells(by_age).values() for found in cells.values())


def growth_sha256(by_age: Mapping[int, Sequence[MeasuredGroup]]) -> str:
    """The SHA-256 of what the models are fitted to, whatever order it comes in.

    Parameters
    ----------
    by_age : mapping of age in growing seasons to measured groups
    """
    return hashlib.sha256(repr(sorted((age, sorted(cells.items())) for age, cells in growth_cells(by_age).items())).encode()).hexdigest()


def about_growth(by_age: Mapping[int, Sequence[MeasuredGroup]]) -> dict[str, int]:
    """What they are of, in numbers: to say what changed since earlier ones.

    Parameters
    ----------
    by_age : mapping of age in growing seasons to measured groups

    Returns
    -------
    dict of int
        Lineages, sites, and trees measured, added up over the ages.
    """
    cells = [(group, cell) for found in growth_cells(by_age).values() for group, own in found.items() for cell in own]
    lineages = {group for group, _cell in cells if not group.standard}
    return {
        "lineages": len(lineages),
        "sites": len({cell.site for _group, cell in cells}),
        "measured": sum(cell.n for _group, cell in cells),
    }
