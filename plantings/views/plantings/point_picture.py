"""The trees of a planting at the points where they were measured, each under a mark for its fate."""

from django.utils.translation import gettext

from plantings.calc.sites.point_plan import point_plan
from plantings.views.plantings.film_picture import FATE_MARKS
from registry.calc.shared.shapes import Line, Marks, Picture, Words
from registry.selectors.shared.local_words import local_count, local_number
from registry.templatetags.parts_drawing import fate_words

__all__ = ["point_part"]


def point_part(measured):
    """The part of a page that draws trees as (longitude, latitude, fate)."""
    plan = point_plan([(longitude, latitude) for longitude, latitude, _fate in measured])
    groups: dict = {}
    for (_longitude, _latitude, fate), point in zip(measured, plan.points, strict=True):
        groups.setdefault(fate, []).append(point)
    fates = [fate for fate in FATE_MARKS if fate in groups]
    foot, right = plan.height - 12, 10 + plan.scale
    length = gettext("%(metres)s m") % {"metres": local_number(f"{plan.scale_m:g}")}
    shapes = [Marks(*FATE_MARKS[fate], tuple(groups[fate])) for fate in fates]
    shapes += [Line("axis", 10, foot, right, foot), Words("label", right + 6, foot + 4, length)]
    return {
        "title": gettext("Map of the measured points"),
        "note": gettext("To scale, north is up. Only for whoever may see exact places."),
        "include": "plantings/plantings/_point_map.html",
        "picture": Picture(plan.width, plan.height, tuple(shapes)),
        "legend": [(f"{local_count(len(groups[fate]))} {fate_words(fate, len(groups[fate]))}", _mark(*FATE_MARKS[fate])) for fate in fates],
    }


def _mark(style, form, size):
    return Picture(16, 16, (Marks(style, form, size * 1.4, ((8, 8),)),))
