"""What a phone takes along of a round: the trees in walk order, the codes in words, last year's readings, the cautions, whom to call.

It names no lot and no role, so that nobody learns which lineage a tree is.
"""

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext, override

from plantings.calc.census.changes import UNIT_SLIPS
from plantings.calc.census.codes import ALIVE, CAUSES_BY_STATUS, DEAD, NOT_VISITED, REMOVED, STATUSES, UNSEEN
from plantings.calc.census.measurements import ERROR
from plantings.imports.census import CensusSheet
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.rounds import field_form_trees, last_seen, missing_trees
from plantings.selectors.plantings.plantings import exact_for
from plantings.views.census.visits import LOCAL_WORD, caution_words, emergency_lines, visit_cautions, visit_day
from plantings.views.sites.sites import text_lines
from registry.access.languages import OFFICE_LANGUAGE
from registry.calc.shared.links import tel_address
from registry.selectors.shared.local_words import local_day, local_number

__all__ = ["VERSION", "phone_data"]

VERSION = 1  # of what the page and the server say to each other; the server reads earlier ones for a season


def phone_data(census_round, user, *, link=None):
    """Everything the page of the phone needs to work without a signal, as JSON takes it. By a `link` the user is its maker.

    What is in words is in English, and in other languages under `local` by the same names, so that the page changes without a signal.
    """
    asked, limits = asked_at(census_round), check_limits()
    own = [item for item in asked if item.is_own]
    trees = list(field_form_trees(census_round).values_list("pk", "tag", "block__code", "row", "position"))
    left = set(missing_trees(census_round).values_list("pk", flat=True))
    exact = link.shows_place if link else exact_for(user)
    visit = visit_cautions(user, census_round.planting.site, visit_day(census_round), exact=exact)
    in_words = {}
    for language, _name in settings.LANGUAGES:
        with override(language):
            in_words[language] = _in_words(census_round, visit, exact, asked, limits)
            in_words[language]["round"]["until"] = local_day(link.ends_on) if link else ""
    return in_words.pop(OFFICE_LANGUAGE) | {
        "version": VERSION,
        "now": int(timezone.now().timestamp() * 1000),
        "person": None if link else {"id": user.pk, "name": str(user)},
        "kinds": {"alive": sorted(ALIVE), "unseen": sorted(UNSEEN), "ended": [DEAD, REMOVED], "notVisited": NOT_VISITED, "dead": DEAD},
        "trees": [[pk, tag, block or "", row, position] for pk, tag, block, row, position in trees],
        "last": _last(census_round, [tree[0] for tree in trees], asked),
        # nobody has to record these any more: they have a record, or ended in an earlier round
        "settled": [tree[0] for tree in trees if tree[0] not in left],
        "sheet": [[field.column_name, name] for name, field in CensusSheet.asking(own).sheet_fields().items()],
        "local": in_words,
    }


def _in_words(census_round, visit, exact, asked, limits):
    """The parts that are in words, in the language that is on."""
    planting = census_round.planting
    place = visit["place"]
    window = {"opens": local_day(census_round.opens_on), "closes": local_day(census_round.closes_on)}
    return {
        "round": {
            "id": census_round.pk,
            "label": census_round.label,
            "planting": planting.code,
            "site": f"{planting.site.name} ({planting.site.code})",
            "window": gettext("%(opens)s to %(closes)s") % window,
        },
        "way": {
            "place": place.words if place else "",
            "geo": place.geo if place else "",
            "corner": planting.start_corner,
            "walk": gettext(planting.get_walk_display()),
            "spacing": f"{local_number(f'{planting.spacing_m:g}')} m" if planting.spacing_m else "",
        },
        "safety": {
            "emergency": emergency_lines(planting.site, exact),
            "contacts": [{"name": str(person), "phone": person.phone, "tel": tel_address(person.phone)} for person in visit["contacts"]],
            "here": text_lines(planting.site.cautions),
            "cautions": [caution_words(line) for line in visit["lines"]],
            "usual": [str(line) for line in (*visit["usual"], *visit["rules"], LOCAL_WORD)],
        },
        "statuses": [[code, gettext(label), gettext(meaning)] for code, label, meaning in STATUSES],
        "causes": {status: [[code, gettext(label)] for code, label, _ in codes] for status, codes in CAUSES_BY_STATUS.items()},
        "asked": [_measurement(item, limits) for item in asked],
        "slips": [limits.unit_slip_percent / 100, [[ratio, gettext(units)] for ratio, units in UNIT_SLIPS]],
    }


def _measurement(item, limits):
    growth = item.growth and limits.growth_of(item)
    return {
        "field": item.field,
        "label": gettext(item.short_label),
        "unit": gettext(item.unit) if item.unit else "",
        "low": item.low,
        "high": item.high,
        "whole": item.is_whole,
        "taken": gettext(item.taken),
        "classes": [[code, gettext(label)] for code, label, _ in item.classes],
        "nothing": item.nothing,
        "unseen": item.unseen == ERROR,
        "explains": item.explains_loss,
        "growth": growth and [growth.loss, growth.loss_share, growth.gain_a_year, growth.damage_explains],
    }


def _last(census_round, trees, asked):
    """{tree: [last status, {field: [reading, day in words, day]}]} of what is compared once a new value is typed."""
    wanted = {item.field for item in asked if item.growth}
    found = {}
    for tree, last in last_seen(census_round, trees).items():
        readings = {name: [value, local_day(on), on.isoformat()] for name, (value, on) in last.readings.items() if name in wanted}
        found[tree] = [last.status, readings]
    return found
