"""The picture of one life: two step lines with the band of the first, and the numbers at risk."""

from registry.selectors.shared.local_words import local_count, local_number

WIDTH, HEIGHT = 380, 232
_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 270, 12, 172
_APART = 15


_AFTER = 0.4  # of a season: how far a line goes on after its last census, so that its band is seen there


def _x(age, last):
    return round(_LEFT + age * (_RIGHT - _LEFT) / last, 1)


def _y(share):
    return round(_BOTTOM - share * (_BOTTOM - _TOP), 1)


def _path(ages, values, last):
    """All at planting, then a step at each age."""
    steps = "".join(f"H{_x(age, last)}V{_y(value)}" for age, value in zip(ages, values, strict=True))
    return f"M{_LEFT} {_y(1)}{steps}H{_x(ages[-1] + _AFTER, last)}"


def _back(ages, values, last):
    """The same line from its end to its beginning, to close a band."""
    levels = [1, *values]
    points = [f"H{_x(age, last)}V{_y(levels[place])}" for place, age in reversed(list(enumerate(ages)))]
    return f"V{_y(values[-1])}{''.join(points)}H{_LEFT}Z"


def curve_picture(one, ages):
    """What the template draws of a LineageLife."""
    last = max(ages) + _AFTER
    reached, check_reached = ages[: len(one.steps)], ages[: len(one.check)]
    lows = [step.share if step.low is None else step.low for step in one.steps]
    highs = [step.share if step.high is None else step.high for step in one.steps]
    end = _y(one.steps[-1].share) if one.steps else None
    check_end = _y(one.check[-1].share) if one.check else None
    label_at, check_at = end, check_end
    if end is not None and check_end is not None and abs(end - check_end) < _APART:
        middle = (end + check_end) / 2
        up, down = middle - _APART / 2, middle + _APART / 2
        label_at, check_at = (up, down) if end <= check_end else (down, up)
    return {
        "width": WIDTH, "height": HEIGHT, "left": _LEFT, "right": _RIGHT, "bottom": _BOTTOM,
        "grid": [(_y(share), words) for share, words in ((0, "0"), (0.5, local_number("0.5")), (1, "1"))],
        "ages": [(_x(age, last), age) for age in (0, *ages)],
        "path": _path(reached, [step.share for step in one.steps], last) if reached else "",
        "band": _path(reached, highs, last) + _back(reached, lows, last) if reached else "",
        "check": _path(check_reached, [step.share for step in one.check], last) if one.check else "",
        "label_x": _x(reached[-1] + _AFTER, last) + 5 if reached else None, "label_y": label_at and label_at + 4,
        "check_x": _x(check_reached[-1] + _AFTER, last) + 5 if one.check else None, "check_y": check_at and check_at + 4,
        "risk": [(_x(age, last), local_count(step.at_risk)) for age, step in zip(reached, one.steps, strict=True)],
        "check_risk": [(_x(age, last), local_count(step.at_risk)) for age, step in zip(check_reached, one.check, strict=True)],
    }  # fmt: skip
