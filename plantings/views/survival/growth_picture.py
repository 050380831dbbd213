"""The picture of one lineage's growth: a dot with its interval at each age, beside the native checks."""

from plantings.calc.growth.words import rounded
from registry.calc.shared.shapes import Dot, Line, Picture, Trace, Words
from registry.selectors.shared.local_words import local_number

_WIDTH, _HEIGHT = 380, 210
_LEFT, _RIGHT, _TOP, _BOTTOM = 44, 262, 12, 176
_APART, _ASIDE = 15, 3
LINE_AGES_FEWEST = 3  # a line through two dots says no more than the dots


def top_of(growth):
    """The end of the scale of all panels: 1, 2, 2.5 or 5 times a power of ten, at or above the highest dot."""
    highest = max((one.mean for one in growth.grown.values()), default=1)
    power = 1.0
    while power * 10 <= highest:
        power *= 10
    while power > highest > 0:
        power /= 10
    return next(power * step for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if power * step >= highest)


def growth_picture(growth, group, top, names):
    """The Picture of a lineage; `names` are the words at the ends of its line and of that of the checks."""
    last = max(growth.ages)

    def x(age):
        return round(_LEFT + age * (_RIGHT - _LEFT) / last, 1)

    def y(value):
        return round(_BOTTOM - min(max(value / top, 0), 1.06) * (_BOTTOM - _TOP), 1)

    shapes = []
    for share in (0, 0.5, 1):
        shapes.append(Line("grid", _LEFT, y(share * top), _RIGHT, y(share * top)))
        shapes.append(Words("label", _LEFT - 6, y(share * top) + 4, _tick(share * top), "end"))
    shapes += [Words("label", x(age), _BOTTOM + 18, str(age), "middle") for age in growth.ages]
    ends = []
    for style, steps, shift in (("check", growth.steps(growth.native), -_ASIDE), ("lineage", growth.steps(group), _ASIDE)):
        if not steps:
            continue
        if len(steps) >= LINE_AGES_FEWEST:
            shapes.append(Trace(style, tuple((x(age) + shift, y(one.mean)) for age, one in steps)))
        for age, one in steps:
            if one.low is not None:
                shapes.append(Line(f"{style}-range", x(age) + shift, y(one.low), x(age) + shift, y(one.high)))
            shapes.append(Dot(f"{style}-dot", x(age) + shift, y(one.mean), 3.5))
        ends.append((x(steps[-1][0]) + 12, y(steps[-1][1].mean) + 4, names[style]))
    return Picture(_WIDTH, _HEIGHT, (*shapes, *(Words("name", *end) for end in _apart(ends))))


def _apart(ends):
    """The words at the ends of two lines, moved apart where they would lie on each other."""
    if len(ends) < 2 or abs(ends[0][1] - ends[1][1]) >= _APART:
        return ends
    middle = (ends[0][1] + ends[1][1]) / 2
    up = 0 if ends[0][1] <= ends[1][1] else 1
    return [(across, middle + (-_APART if place == up else _APART) / 2, words) for place, (across, _down, words) in enumerate(ends)]


def _tick(value):
    return local_number(rounded(value).rstrip("0").rstrip(".") if "." in rounded(value) else rounded(value))
