"""The map of a planting at one round: each position under a mark for its fate, or for the height or canker of its tree."""

from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.census.measurements import CANKER
from plantings.calc.sites.plan_points import plan_points
from plantings.choices import TreeFate
from registry.calc.shared.shapes import Dot, Marks, Picture, Trace, Words, placed
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_number
from registry.templatetags.parts_drawing import fate_words

__all__ = ["FATE", "FATE_MARKS", "HEIGHT", "SHOWN", "FilmFrame", "film_frames", "film_key", "film_legend", "not_on_the_map"]

FATE, HEIGHT, CANKERED = "fate", "height", "canker"
SHOWN = {FATE: _("fate"), HEIGHT: _("height"), CANKERED: _("canker")}
_NO_VALUE, _NOT_ALIVE, _NOT_KNOWN = "no value", "not alive", "not known"
_CLASSES = 5
KEY_WIDTH = 360  # narrow enough to be read on a phone
# The mark of each: (style, form, half its width). Form and size tell them apart without a colour.
FATE_MARKS = {
    TreeFate.ALIVE: ("fate-alive", "dot", 4), TreeFate.RESPROUT: ("fate-alive-shape", "triangle", 4),
    TreeFate.DEAD: ("fate-dead", "cross", 3), TreeFate.PRESUMED_DEAD: ("fate-dead", "plus", 4),
    TreeFate.NOT_FOUND: ("fate-lost", "ring", 4), TreeFate.REMOVED: ("fate-gone", "square", 3),
    **dict.fromkeys((TreeFate.UNCLEAR, TreeFate.NOT_LOCATED, TreeFate.NOT_VISITED), ("fate-lost", "dash", 3)),
}  # fmt: skip
_VALUE_MARKS = {
    **{number: (f"shade-{number + 1}", "square", 2 + 0.5 * number) for number in range(_CLASSES)},
    _NO_VALUE: ("fate-lost", "ring", 3), _NOT_ALIVE: ("fate-dead", "cross", 2.5), _NOT_KNOWN: ("fate-lost", "dash", 2.5),
}  # fmt: skip
_GONE = (TreeFate.DEAD, TreeFate.PRESUMED_DEAD, TreeFate.REMOVED)
_LIVING = (TreeFate.ALIVE, TreeFate.RESPROUT)


@dataclass(frozen=True, slots=True)
class FilmFrame:
    """The map at a round with what it says in words."""

    label: str
    growing_seasons: int
    is_complete: bool
    picture: Picture
    summary: str
    kinds: tuple


def film_frames(film, shown):
    """A FilmFrame for each round."""
    plan = plan_points(film.places)
    ground = [Words("label", x, y, gettext("block %(block)s") % {"block": name}) for x, y, name in plan.names]
    ground += [Trace("walk", walk) for walk in plan.walks if len(walk) > 1]
    ground.append(Dot("start", *plan.points[0], 6.5))
    step = _height_step(film)
    return [_frame(item, shown, plan, ground, step) for item in film.rounds]


def _frame(item, shown, plan, ground, step):
    kinds = item.fates if shown == FATE else [_value_kind(item, place, shown, step) for place in range(len(item.fates))]
    groups: dict = {}
    for kind, point in zip(kinds, plan.points, strict=True):
        groups.setdefault(kind, []).append(point)
    marks = FATE_MARKS if shown == FATE else _VALUE_MARKS
    order = [kind for kind in marks if kind in groups]
    shapes = (*ground, *(Marks(*marks[kind], tuple(groups[kind])) for kind in order))
    counts = {kind: len(groups[kind]) for kind in order}
    summary = _fate_summary(counts) if shown == FATE else _value_summary(item, shown, counts)
    return FilmFrame(item.label, item.growing_seasons, item.is_complete, Picture(plan.width, plan.height, shapes), summary, tuple(order))


def _value_kind(item, place, shown, step):
    fate = item.fates[place]
    if fate not in _LIVING:
        return _NOT_ALIVE if fate in _GONE else _NOT_KNOWN
    value = (item.heights if shown == HEIGHT else item.cankers)[place]
    if value is None:
        return _NO_VALUE
    return min(int(value / step) if shown == HEIGHT else int(value), _CLASSES - 1)


def _height_step(film):
    """The width of a class in cm: five of them hold the highest tree of all rounds."""
    highest = max((value for item in film.rounds for value in item.heights if value is not None), default=0)
    return next(step for step in (5, 10, 20, 25, 50, 100, 200, 250, 500, 1_000, 1_500) if step * _CLASSES >= min(highest, 7_500))


def _fate_summary(counts):
    return ", ".join(f"{local_count(n)} {fate_words(fate, n)}" for fate, n in counts.items())


def _value_summary(item, shown, counts):
    values = [value for value in (item.heights if shown == HEIGHT else item.cankers) if value is not None]
    parts = []
    if shown == HEIGHT and values:
        words = gettext("%(n)s measured, mean %(mean)s cm, %(low)s to %(high)s cm")
        mean, low, high = f"{sum(values) / len(values):.0f}", f"{min(values):g}", f"{max(values):g}"
        numbers = {"mean": local_number(mean), "low": local_number(low), "high": local_number(high)}
        parts.append(words % {"n": local_count(len(values)), **numbers})
    elif values:
        parts += [f"{_kind_words(kind, shown, 0)}{gettext(':')} {local_count(n)}" for kind, n in counts.items() if isinstance(kind, int)]
    parts += [f"{_kind_words(kind, shown, 0)}{gettext(':')} {local_count(n)}" for kind, n in counts.items() if not isinstance(kind, int)]
    return "; ".join(parts)


def _kind_words(kind, shown, step):
    if kind == _NO_VALUE:
        return gettext("alive, no value")
    if kind == _NOT_ALIVE:
        return gettext("dead, presumed dead or removed")
    if kind == _NOT_KNOWN:
        return gettext("not known at this round")
    if shown == CANKERED:
        return f"{kind} {local_text(CANKER.classes[kind].label)}"
    return gettext("%(low)s to %(high)s cm") % {"low": local_count(kind * step), "high": local_count((kind + 1) * step)}


def film_legend(film, frames, shown):
    """[(words, the mark as a Picture of 16 × 16)] of the marks that the frames have."""
    found = {kind for frame in frames for kind in frame.kinds}
    marks, step = (FATE_MARKS, 0) if shown == FATE else (_VALUE_MARKS, _height_step(film))
    merged: dict = {}
    for kind in marks:
        if kind in found:
            merged.setdefault(marks[kind], []).append(fate_words(kind) if shown == FATE else _kind_words(kind, shown, step))
    return [
        (", ".join(words), Picture(16, 16, (Marks(style, form, size * 1.4, ((8, 8),)),))) for (style, form, size), words in merged.items()
    ]  # fmt: skip


def film_key(legend):
    """What the marks mean as a picture, one below the other."""
    shapes = [
        shape
        for number, (words, mark) in enumerate(legend)
        for shape in (*placed(mark.shapes, 0, number * 17), Words("label", 22, number * 17 + 12, words))
    ]
    return Picture(KEY_WIDTH, len(legend) * 17 + 2, tuple(shapes))


def not_on_the_map(film):
    """The trees that the maps do not have, in sentences."""
    notes = []
    if film.replacements:
        trees = local_amount(film.replacements, "trees")
        notes.append(gettext("Planted later as replacements, and not on the map: %(trees)s.") % {"trees": trees})
    if film.unplaced:
        notes.append(
            gettext("Without a row and position, and not on the map: %(trees)s.") % {"trees": local_amount(film.unplaced, "trees")}
        )
    return notes
