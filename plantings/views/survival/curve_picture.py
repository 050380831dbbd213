"""The picture of one life: two step lines with the band of the first, and the numbers at risk; and a small one to lay beside others."""

from dataclasses import dataclass
from math import ceil

from registry.calc.shared.shapes import Line, Picture, Trace, Words
from registry.selectors.shared.local_words import local_count, local_number

_WIDTH, _HEIGHT = 380, 232
_SMALL_WIDTH, _SMALL_HEIGHT, _NUMBERS_APART = 184, 158, 26
_APART = 15
_AFTER = 0.4  # of a season: how far a line goes on after its last census, so that its band is seen there


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where the lines are drawn: the edges, and the end of the scale of ages."""

    left: float
    right: float
    top: float
    bottom: float
    last: float

    def x(self, age):
        return round(self.left + age * (self.right - self.left) / self.last, 1)

    def y(self, share):
        return round(self.bottom - share * (self.bottom - self.top), 1)

    def corners(self, ages, values):
        """All at planting, then a step at each age, and on past the last."""
        points, level = [(self.x(0), self.y(1))], 1
        for age, value in zip(ages, values, strict=True):
            points += [(self.x(age), self.y(level)), (self.x(age), self.y(value))]
            level = value
        return (*points, (self.x(ages[-1] + _AFTER), self.y(level)))

    def lines(self, one, ages):
        """The grid, the band, the heavy line of the checks and the line of the lineage."""
        shapes = []
        for share, words in ((0, "0"), (0.5, local_number("0.5")), (1, "1")):
            height = self.y(share)
            shapes += [Line("grid", self.left, height, self.right, height), Words("label", self.left - 6, height + 4, words, "end")]
        if one.steps:
            reached = ages[: len(one.steps)]
            high = self.corners(reached, [step.share if step.high is None else step.high for step in one.steps])
            low = self.corners(reached, [step.share if step.low is None else step.low for step in one.steps])
            shapes.append(Trace("band", (*high, *reversed(low)), is_area=True))
        for style, steps, is_curve in (("check", one.check, one.has_check_curve), ("curve", one.steps, one.has_curve)):
            if is_curve:
                shapes.append(Trace(style, self.corners(ages[: len(steps)], [step.share for step in steps])))
        return shapes


def _ends(lines, frame):
    """The words at the end of each line, moved apart where two would lie on each other."""
    heights = [frame.y(steps[-1].share) for _ages, steps, _words in lines]
    if len(heights) == 2 and abs(heights[0] - heights[1]) < _APART:
        middle, up = sum(heights) / 2, heights[0] <= heights[1]
        heights = [middle + (-_APART if is_up else _APART) / 2 for is_up in (up, not up)]
    return [
        Words("name", frame.x(ages[-1] + _AFTER) + 5, height + 4, words)
        for (ages, _steps, words), height in zip(lines, heights, strict=True)
    ]


def curve_picture(one, ages, names):
    """The Picture of a LineageLife. `names` are the words for lineage, check, and the rows of numbers at risk of both."""
    frame = _Frame(34, 270, 12, 172, max(ages) + _AFTER)
    shapes = frame.lines(one, ages)
    shapes += [Words("label", frame.x(age), frame.bottom + 16, str(age), "middle") for age in (0, *ages)]
    for down, name, steps in ((36, "at_risk", one.steps), (53, "check_at_risk", one.check)):
        shapes += _numbers(frame, ages, steps, down, ages)
        if steps:
            shapes.append(Words("label", frame.right + 24, frame.bottom + down, names[name]))
    drawn = (("lineage", one.steps, one.has_curve), ("check", one.check, one.has_check_curve))
    lines = [(ages[: len(steps)], steps, names[name]) for name, steps, is_curve in drawn if is_curve]
    return Picture(_WIDTH, _HEIGHT, (*shapes, *_ends(lines, frame)))


def panel_picture(one, ages, last):
    """A small Picture of a LineageLife to lay beside others, on one scale up to the age `last`; its words are beside it."""
    frame = _Frame(30, _SMALL_WIDTH - 8, 8, 106, last + _AFTER)
    every = max(1, ceil(_NUMBERS_APART / (frame.x(1) - frame.left)))  # ages further apart than their numbers are wide
    named = range(0, last + 1, every)
    shapes = frame.lines(one, ages)
    shapes += [Words("label", frame.x(age), frame.bottom + 15, str(age), "middle") for age in named]
    for down, steps in ((32, one.steps), (47, one.check)):
        shapes += _numbers(frame, ages, steps, down, named)
    return Picture(_SMALL_WIDTH, _SMALL_HEIGHT, tuple(shapes))


def _numbers(frame, ages, steps, down, named):
    return [
        Words("label", frame.x(age), frame.bottom + down, local_count(step.at_risk), "middle")
        for age, step in zip(ages, steps, strict=False)
        if age in named
    ]
