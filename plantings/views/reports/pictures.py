"""The pictures of a report in plain shapes, from the values that the pages of results draw theirs from."""

import re

from plantings.views.survival.curve_picture import curve_picture
from plantings.views.survival.lineage_picture import lineage_picture
from registry.prints.document import Area, Dot, Label, Picture, Stroke

__all__ = ["curve_shapes", "lineage_shapes"]

_NAMES, _SCALE, _ROW, _TOP = 130, 330, 22, 26
_STEP = re.compile(r"([MHVZ])([-\d. ]*)")


def lineage_shapes(comparison, title, note):
    """Each lineage on one scale beside the native check: its difference with interval, its shrunken value hollow, its sites as ticks."""
    found = lineage_picture(comparison)
    bottom = _TOP + _ROW * len(found["lines"])

    def x(percent):
        return round(_NAMES + percent / 100 * _SCALE, 1)

    shapes = [Stroke(((x(place), _TOP - 4), (x(place), bottom)), 0.4, 0.8) for place, _words in found["ticks"]]
    shapes += [Label(x(place), _TOP - 9, words, 7.5, "middle", 0.3) for place, words in found["ticks"]]
    shapes.append(Stroke(((x(found["native"]), _TOP - 4), (x(found["native"]), bottom)), 1.4))
    shapes.append(Label(x(found["native"]), bottom + 11, "native check", 7.5, "middle"))
    for number, line in enumerate(found["lines"]):
        y = _TOP + _ROW * (number + 0.5)
        shapes += [Label(_NAMES - 8, y + 3, line.label, 8.5, "end"), Label(_NAMES + _SCALE + 8, y + 3, line.figure, 8)]
        if line.band:
            left, wide = line.band
            corners = ((x(left), y - 5), (x(left + wide), y - 5), (x(left + wide), y + 5), (x(left), y + 5))
            shapes.append(Area(corners, 0.88))
        shapes += [Stroke(((x(place), y - 4), (x(place), y + 4)), 0.6, 0.45) for place in line.ticks]
        if line.low is not None and line.high is not None:
            shapes.append(Stroke(((x(line.low), y), (x(line.high), y)), 1.6))
        if line.shrunk is not None:
            shapes.append(Dot(x(line.shrunk), y, 3.6, 0, hollow=True))
        shapes.append(Dot(x(line.dot), y, 3))
    if found["donor"] is not None:
        shapes.append(Stroke(((x(found["donor"]), _TOP - 4), (x(found["donor"]), bottom)), 1, 0.4, dashed=True))
        shapes.append(Label(x(found["donor"]), bottom + 20, "donor check", 7.5, "middle", 0.3))
    words = " ".join(line.sentence for line in found["lines"])
    return Picture(title, _NAMES + _SCALE + 120, bottom + 24, tuple(shapes), words, note)


def curve_shapes(one, ages, title, words, note):
    """One life: its steps with their band, the native check in the same plantings broken, the numbers at risk below."""
    found = curve_picture(one, ages)
    shapes = [Stroke(((found["left"], y), (found["right"], y)), 0.4, 0.8) for y, _words in found["grid"]]
    shapes += [Label(found["left"] - 6, y + 3, number, 8, "end", 0.3) for y, number in found["grid"]]
    shapes += [Label(x, found["bottom"] + 13, str(age), 8, "middle", 0.3) for x, age in found["ages"]]
    if found["band"]:
        shapes.append(Area(_points(found["band"]), 0.88))
    if found["check"]:
        shapes += [
            Stroke(_points(found["check"]), 1.2, 0.35, dashed=True), Label(found["check_x"], found["check_y"], "native check", 8, gray=0.3)
        ]  # fmt: skip
    if found["path"]:
        shapes += [Stroke(_points(found["path"]), 1.8), Label(found["label_x"], found["label_y"], one.label, 8)]
    for row, risk in ((30, found["risk"]), (42, found["check_risk"])):
        shapes += [Label(x, found["bottom"] + row, count, 7.5, "middle", 0 if row == 30 else 0.35) for x, count in risk]
    return Picture(title, found["width"], found["height"], tuple(shapes), words, note)


def _points(path):
    """The corners of a path of steps (M, H, V, Z), as the page draws it."""
    x = y = 0.0
    points = []
    for letter, numbers in _STEP.findall(path):
        given = [float(number) for number in numbers.split()]
        if letter == "Z":
            points.append(points[0])
            continue
        x, y = given if letter == "M" else (given[0], y) if letter == "H" else (x, given[0])
        points.append((x, y))
    return tuple(points)
