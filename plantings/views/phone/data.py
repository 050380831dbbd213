"""What a phone takes along of a round: the trees in walk order, the codes in words, last year's readings, the cautions, whom to call.

It names no lot and no role, so that nobody learns which lineage a tree is.
"""

import hashlib
import json

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop, override

from plantings.calc.arrival.counts import LEAP_FEWEST
from plantings.calc.census.changes import TENFOLD, UNIT_SLIPS, is_length
from plantings.calc.census.codes import ALIVE, CAUSES_BY_STATUS, DEAD, NOT_VISITED, REMOVED, STATUSES, UNSEEN
from plantings.calc.census.measurements import ERROR
from plantings.calc.census.walk_parts import PART_TREES_MOST, walk_parts
from plantings.calc.phone.clock import note_typed
from plantings.imports.census import CensusSheet
from plantings.imports.counts import PlotCountSheet
from plantings.imports.second import SecondSheet
from plantings.selectors.census.asked import asked_at, in_english_only
from plantings.selectors.census.count_queue import last_counts
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.reviews import gone_records
from plantings.selectors.census.rounds import asked_back, counts_asked_back, field_form_trees, last_seen, missing_trees, standing_counts
from plantings.selectors.census.second import drawn_trees, left_trees, outside_open_draws, recorded_values
from plantings.selectors.plantings.plantings import exact_for
from plantings.selectors.sites.local_texts import access_text, corner_text
from plantings.views.census.visits import caution_lines, caution_wordings, emergency_lines, visit_cautions, visit_day
from registry.access.languages import OFFICE_LANGUAGE
from registry.calc.shared.links import tel_address
from registry.choices import LotKind
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_day, local_number

__all__ = ["BLIND", "VERSION", "WHOLE_TREES_MOST", "phone_data", "phone_part"]

VERSION = 1  # of what the page and the server say to each other; the server reads earlier ones for a season
BLIND = gettext_noop("Measure each tree as if nobody had been there before. What the first person wrote is not shown.")
WHOLE_TREES_MOST = 1_000  # a larger planting is fetched in parts


def phone_data(census_round, user, *, link=None, in_parts=False, draw=None, days_once=False):
    """Everything the page of the phone needs to work without a signal, as JSON takes it. By a `link` the user is its maker.

    What is in words is in English, and in other languages under `local` by the same names, so that the page changes without a signal.
    A page that can fetch a large planting `in_parts` gets no trees of one, but names of its parts for `phone_part`. With a `draw` it is
    the second measurement of the drawn trees: nothing that anybody recorded of them before goes along. With `days_once` a day that all
    last readings of a tree have is written once.
    """
    asked, limits = asked_at(census_round), check_limits()
    own = [item for item in asked if item.is_own]
    trees, left = (_trees(census_round), _left(census_round)) if draw is None else _drawn(draw)
    questions = _questions(census_round, user, asked, link) if draw is None else []
    gone = [[str(uuid), reason] for uuid, reason in gone_records(census_round)] if draw is None else []
    parts = in_parts and len(trees) > WHOLE_TREES_MOST
    exact = link.shows_place if link else exact_for(user)
    visit = visit_cautions(user, census_round.planting.site, visit_day(census_round), exact=exact)
    wordings = caution_wordings(census_round.planting.site, visit)
    in_words = {}
    for language, _name in settings.LANGUAGES:
        with override(language):
            in_words[language] = _in_words(census_round, visit, exact, asked, limits, draw)
            in_words[language]["round"]["until"] = local_day(link.ends_on) if link else ""
    sheet = CensusSheet if draw is None else SecondSheet
    return in_words.pop(OFFICE_LANGUAGE) | {
        "version": VERSION,
        "now": int(timezone.now().timestamp() * 1000),
        "person": None if link else {"id": user.pk, "name": str(user)},
        "cautions": {"wording": wordings[OFFICE_LANGUAGE], "wordings": wordings, "versions": visit["versions"]},
        "kinds": {"alive": sorted(ALIVE), "unseen": sorted(UNSEEN), "ended": [DEAD, REMOVED], "notVisited": NOT_VISITED, "dead": DEAD},
        **_part(census_round, [] if parts else trees, left, asked if draw is None else None, days_once),
        "parts": _parts(trees, left, {question["tree"] for question in questions if "tree" in question}) if parts else [],
        "draw": draw and {"id": draw.pk, "number": draw.number, "by": draw.measured_by},
        **(_plots(census_round) if draw is None else {"plots": [], "counted": []}),
        "questions": questions,
        "gone": gone,
        "countSheet": [[field.column_name, name] for name, field in PlotCountSheet.sheet_fields().items()],
        "sheet": [[field.column_name, name] for name, field in sheet.asking(own).sheet_fields().items()],
        "local": in_words,
    }


def phone_part(census_round, key, *, days_once=False):
    """The trees of one part of a large planting, by its key in `parts`. None for a key that `parts` does not have, or no longer has."""
    trees, left = _trees(census_round), _left(census_round)
    found = next((part for part in _cut(trees) if part.key == key), None)
    if found is None:
        return None
    part = trees[found.start : found.stop]
    return _part(census_round, part, left, asked_at(census_round), days_once) | {"edition": _edition(part, left)}


def _trees(census_round):
    """[[pk, tag, block, row, position], …] in walk order."""
    return _rows(field_form_trees(census_round))


def _rows(trees):
    values = trees.values_list("pk", "tag", "block__code", "row", "position")
    return [[pk, tag, block or "", row, position] for pk, tag, block, row, position in values]


def _drawn(draw):
    """The drawn trees as `_trees` gives them, and the keys of those without a second measurement."""
    return _rows(drawn_trees(draw)), left_trees(draw)


def _plots(census_round):
    """The counted plots of a round without their lots, which have a count, and what a new count is compared with once it is typed."""
    plots = list(census_round.planting.counted_plots.values_list("pk", "code", "planted_count", "entry__lot__kind"))
    last = last_counts(census_round, [plot[0] for plot in plots]) if plots else {}
    return {
        # a plot of an unknown number planted comes without it
        "plots": [[value for value in plot[:3] if value is not None] for plot in plots],
        "counted": sorted(standing_counts(census_round)) if plots else [],
        "sown": [plot[0] for plot in plots if plot[3] == LotKind.SEED],
        "lastCounts": {pk: [count.alive, count.dead, count.observed_on.isoformat()] for pk, count in last.items()},
        "countLeap": [LEAP_FEWEST, check_limits().count_leap_percent] if plots else [],
    }


def _questions(census_round, user, asked, link):
    """What the office asks the crew about records that came in: a new record of the tree or plot is the answer.

    A question goes to the round, not to whoever sent the record: anybody who records in it may answer, under their own name. With an
    account it comes with what the record says, as the form of a correction shows it. By a link it comes without: the record may be of
    somebody else, and whoever looks again needs the place and the question, not the reading in doubt.

    Who measures a tree again learns nothing of its first record by it; of who holds a link that is not known.
    """
    records = asked_back(census_round, user)
    if link:
        records = outside_open_draws(records)
    hidden = {"status": "", "cause": "", "values": {}, "note": ""} if link else {}
    trees = [
        {
            "tree": record.tree_id, "tag": record.tree.tag, "status": record.status, "cause": record.cause,
            "values": recorded_values(record, asked), **_question(record), **hidden,
        }
        for record in records
    ]  # fmt: skip
    plots = [
        {
            "plot": count.plot_id, "tag": count.plot.code, "status": "", "cause": "", "values": {"alive": count.alive, "dead": count.dead},
            **_question(count), **hidden,
        }
        for count in counts_asked_back(census_round, user)
    ]  # fmt: skip
    return trees + plots


def _question(record):
    return {"uuid": str(record.uuid), "note": note_typed(record.note), "question": record.review_reason}


def _left(census_round):
    return set(missing_trees(census_round).values_list("pk", flat=True))


def _part(census_round, trees, left, asked, days_once):
    """Some trees, what was `asked` of them at earlier rounds (None: nothing goes along), and which are settled."""
    return {
        "trees": trees,
        "last": _last(census_round, [tree[0] for tree in trees], asked, days_once) if trees and asked is not None else {},
        # nobody has to record these any more: they have a record, or ended in an earlier round
        "settled": [tree[0] for tree in trees if tree[0] not in left],
    }


def _parts(trees, left, asked_back):
    """[[key, first block, last block, number of the piece, trees, of these left or asked back, edition], …]."""
    found = []
    for part in _cut(trees):
        inside = trees[part.start : part.stop]
        n_left = sum(tree[0] in left or tree[0] in asked_back for tree in inside)
        found.append([part.key, part.first, part.last, part.piece, len(inside), n_left, _edition(inside, left)])
    return found


def _cut(trees):
    return walk_parts([tree[2] for tree in trees], PART_TREES_MOST)


def _edition(trees, left):
    """What changes when a part does, so that a phone sees which of its parts are older."""
    said = json.dumps([[*tree, tree[0] in left] for tree in trees])
    return hashlib.sha256(said.encode()).hexdigest()[:12]


def _in_words(census_round, visit, exact, asked, limits, draw):
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
            "again": gettext(BLIND) if draw else "",
        },
        "way": {
            "access": access_text(planting.site) if exact else "",
            "place": place.words if place else "",
            "geo": place.geo if place else "",
            "corner": corner_text(planting),
            "walk": planting.get_walk_display(),
            "spacing": f"{local_number(f'{planting.spacing_m:g}')} m" if planting.spacing_m else "",
        },
        "safety": {
            "emergency": emergency_lines(planting.site, exact),
            "contacts": [{"name": str(person), "phone": person.phone, "tel": tel_address(person.phone)} for person in visit["contacts"]],
            **caution_lines(planting.site, visit),
        },
        "statuses": [[code, gettext(label), gettext(meaning)] for code, label, meaning in STATUSES],
        "causes": {status: [[code, gettext(label)] for code, label, _ in codes] for status, codes in CAUSES_BY_STATUS.items()},
        "asked": [_measurement(item, limits) for item in asked],
        "slips": [limits.unit_slip_percent / 100, [[ratio, gettext(units)] for ratio, units in UNIT_SLIPS], TENFOLD],
    }


def _measurement(item, limits):
    growth = item.growth and limits.growth_of(item)
    return {
        "field": item.field,
        "label": local_text(item.short_label),
        "lang": OFFICE_LANGUAGE if in_english_only(item) else "",
        "unit": local_text(item.unit),
        "low": item.low,
        "high": item.high,
        "whole": item.is_whole,
        "taken": local_text(item.taken),
        "classes": [[code, local_text(label)] for code, label, _ in item.classes],
        "nothing": item.nothing,
        "unseen": item.unseen == ERROR,
        "explains": item.explains_loss,
        "isOwn": item.is_own,
        "isLength": is_length(item),
        "growth": growth and [growth.loss, growth.loss_share, growth.gain_a_year, growth.damage_explains],
    }


def _last(census_round, trees, asked, days_once):
    """{tree: [last status, {field: [reading, day]}]} of what is compared once a new value is typed; [last status, {field: reading}, day]
    where a day is written once and all have the same."""
    wanted = {item.field for item in asked if item.growth}
    found = {}
    for tree, last in last_seen(census_round, trees).items():
        readings = {name: [value, on.isoformat()] for name, (value, on) in last.readings.items() if name in wanted}
        found[tree] = [last.status, readings]
        days = {day for _value, day in readings.values()}
        if days_once and len(days) == 1:
            found[tree] = [last.status, {name: value for name, (value, _day) in readings.items()}, *days]
    return found
