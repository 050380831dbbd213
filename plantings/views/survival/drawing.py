"""The small step line of survival over the growing seasons."""

WIDTH, HEIGHT = 168, 56
_LEFT, _RIGHT, _TOP, _BOTTOM = 8, 160, 6, 48


def _height(share):
    return round(_BOTTOM - share * (_BOTTOM - _TOP), 1)


def step_line(seasons, ages):
    """Places of a drawing 168 by 56: all trees at planting, a step at each census, a whisker for its interval.

    `ages` holds the row of each age there is a figure for; the line stops where a census is missing and goes on
    after it, so that no step is drawn that nobody saw.
    """
    last = max(seasons, default=0) or 1
    across = {season: round(_LEFT + season * (_RIGHT - _LEFT) / last, 1) for season in (0, *seasons)}
    marks, segments, broken = [], [f"M{across[0]} {_height(1)}"], False
    for season in seasons:
        row = ages.get(season)
        if row is None or row.share is None:
            broken = True
            continue
        x, y = across[season], _height(row.share)
        if broken:
            segments.append(f"M{x} {y}")
        else:
            segments[-1] += f"H{x}V{y}"
        broken = False
        marks.append({"x": x, "y": y, "low": _height(row.low), "high": _height(row.high)})
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "left": _LEFT,
        "right": _RIGHT,
        "top": _TOP,
        "bottom": _BOTTOM,
        "path": "".join(segments),
        "marks": marks,
        "ticks": [across[season] for season in seasons],
    }
