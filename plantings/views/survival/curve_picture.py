"""The picture of one life: two step lines with the band of the first, and the numbers at risk."""

from registry.calc.shared.shapes import Line, Picture, Trace, Words
from registry.selectors.shared.local_words import local_count, local_number

_WIDTH, _HEIGHT = 380, 232
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 270, 12, 172
_APART = 15
_AFTER = 0.4  # of a season: how far a line goes on after its last census, so that its band is seen there


def _x(age, last):
    return round(_LEFT + age * (_RIGHT - _LEFT) / last, 1)


def _y(share):
    return round(_BOTTOM - share * (_BOTTOM - _TOP), 1)


def _corners(ages, values, last):
    """All at planting, then a step at each age, and on past the last."""
    points, level = [(_LEFT, _y(1))], 1
    for age, value in zip(ages, values, strict=True):
        points += [(_x(age, last), _y(level)), (_x(age, last), _y(value))]
        level = value
    return (*points, (_x(ages[-1] + _AFTER, last), _y(level)))


def _ends(lines, last):
    """The height of the words at the end of each line, moved apart where two would lie on each other."""
    heights = [_y(steps[-1].share) for _ages, steps, _words in lines]
    if len(heights) == 2 and abs(heights[0] - heights[1]) < _APART:
        middle, up = sum(heights) / 2, heights[0] <= heights[1]
        heights = [middle + (-_APART if is_up else _APART) / 2 for is_up in (up, not up)]
    return [
        Words("name", _x(ages[-1] + _AFTER, last) + 5, height + 4, words)
        for (ages, _steps, words), height in zip(lines, heights, strict=True)
    ]


def curve_picture(one, ages, names):
    """The Picture of a LineageLife. `names` are the words for lineage, check, and the rows of numbers at risk of both."""
    last = max(ages) + _AFTER
    shapes = []
    for share, words in ((0, "0"), (0.5, local_number("0.5")), (1, "1")):
        shapes += [Line("grid", _LEFT, _y(share), _RIGHT, _y(share)), Words("label", _LEFT - 6, _y(share) + 4, words, "end")]
    shapes += [Words("label", _x(age, last), _BOTTOM + 16, str(age), "middle") for age in (0, *ages)]
    lines = [
        (ages[: len(steps)], steps, names[name]) for name, steps in (("lineage", one.steps), ("check", one.check)) if steps
    ]  # fmt: skip
    if one.steps:
        reached = ages[: len(one.steps)]
        high = _corners(reached, [step.share if step.high is None else step.high for step in one.steps], last)
        low = _corners(reached, [step.share if step.low is None else step.low for step in one.steps], last)
        shapes.append(Trace("band", (*high, *reversed(low)), is_area=True))
    for style, steps in (("check", one.check), ("curve", one.steps)):
        if steps:
            shapes.append(Trace(style, _corners(ages[: len(steps)], [step.share for step in steps], last)))
    for down, name, steps in ((36, "at_risk", one.steps), (53, "check_at_risk", one.check)):
        shapes += [
            Words("label", _x(age, last), _BOTTOM + down, local_count(step.at_risk), "middle")
            for age, step in zip(ages[: len(steps)], steps, strict=True)
        ]
        if steps:
            shapes.append(Words("label", _RIGHT + 24, _BOTTOM + down, names[name]))
    return Picture(_WIDTH, _HEIGHT, (*shapes, *_ends(lines, last)))
