"""What was found, as tables in Markdown: intervals down, programmes across."""

from collections.abc import Callable, Mapping, Sequence
from math import inf

import numpy as np

from tests.simulation.adding_up import Held

EDGES = (0, 0.1, 0.3, 0.5, 0.7, 0.9, 1)
FEWEST = 100
WIDEST = 1000  # a mean width beyond it is that of a few intervals without an end


def held_cell(one: Held) -> str:
    return f"{one.share:.3f}"


def bias_cell(one: Held) -> str:
    return f"{one.bias:+.3f}"


def matrix(found: Mapping[str, Sequence[Held]], arms: Sequence[str], cell: Callable[[Held], str], widths_of: str = "") -> str:
    """One row for each interval that was measured in any of the arms; a dash where there are too few of it. With `widths_of` a last column has the
    mean width in that arm."""
    by_arm = {arm: {one.name: one for one in found[arm] if one.number >= FEWEST} for arm in arms if arm in found}
    names = dict.fromkeys(name for of_arm in by_arm.values() for name in of_arm)
    head = ["interval", *by_arm, *(["mean width"] if widths_of else [])]
    lines = [head, ["---"] * len(head)]
    for name in names:
        cells = [cell(of_arm[name]) if name in of_arm else "–" for of_arm in by_arm.values()]
        if widths_of:
            width = by_arm[widths_of][name].width if name in by_arm[widths_of] else inf
            cells.append(f"{width:.3g}" if width < WIDEST else "–")
        lines.append([name, *cells])
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def order_line(orders) -> str:
    """How well the order was found; "" where there is none."""
    if not orders:
        return ""
    ranks, best, chances = zip(*orders, strict=True)
    given, came = np.array([pair for some in chances for pair in some], float).T
    place = np.clip(np.digitize(given, EDGES) - 1, 0, len(EDGES) - 2)
    said = [
        f"{given[place == k].mean():.2f} given, {came[place == k].mean():.2f} came ({(place == k).sum():,})"
        for k in range(len(EDGES) - 1)
        if (place == k).any()
    ]
    return (
        f"Order: rank correlation with the truth {np.mean(ranks):.2f}; of the truly best quarter {np.mean(best):.2f} are in the first.\n"
        f"Chance to be in the best quarter: {'; '.join(said)}."
    )


def lines_of_tests(tests) -> list[str]:
    """How often each test gave p under 0.05."""
    lines = []
    for name in dict.fromkeys(name for name, _p in tests):
        values = np.array([p for one, p in tests if one == name])
        share = (values < 0.05).mean()
        lines.append(f"p under 0.05, {name}: {share:.3f} ± {np.sqrt(share * (1 - share) / len(values)):.3f}")
    return lines
