"""The survival report as a document: its sentences, tables, pictures and map, for a draft and for what is issued."""

from dataclasses import dataclass, replace

from django.utils import timezone

from plantings.calc.lifetimes.words import life_sentence, lifetime_definitions, lives_sentence, no_curve_sentence
from plantings.calc.lineages.definitions import lineage_definitions
from plantings.calc.lineages.words import opening_sentence, pressure_sentence
from plantings.calc.reports.changes import differences
from plantings.calc.survival.groups import LEVELS, LINEAGE
from plantings.calc.survival.words import band_words, definitions, difference_words, export_headers, export_row
from plantings.maps.outlines import CREDIT, names_within, outlines_within
from plantings.models import Site
from plantings.selectors.plantings.plantings import site_position
from plantings.selectors.reports.reports import ReportDamaged, content_of, newest_records, report_before, rests_on, rests_sha256
from plantings.selectors.survival.figure_words import figure_words
from plantings.selectors.survival.lifetimes import lineage_lifetimes
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.selectors.survival.rounds import SurvivalFilter
from plantings.selectors.survival.survival import SurvivalTable, survival_rows
from plantings.views.reports.lineage_part import lineage_parts
from plantings.views.survival.columns import key_words, with_key_words
from plantings.views.survival.curve_picture import curve_picture
from plantings.views.survival.filtered import progress_words
from registry.calc.shared.screen import amount_words, day_words
from registry.prints.document import Document, Drawing, Facts, Map, Notes, Table, TableColumn
from registry.prints.map_part import map_view
from registry.selectors.audit.chain_head import chain_head
from registry.selectors.people.programme import programme_address
from registry.selectors.shared.local_text import local_text

__all__ = ["DrawnReport", "draw_report"]

CURVES, CHANGES = 6, 40
AUTHORITY = "This report says what is recorded. It does not say that a planting or a release is allowed: check with the local authority."
_BY = ("site", LINEAGE)
_CURVE_NOTE = (
    "Survival at each census, pale its 95 % band; heavy: the native checks in the same plantings. Below: trees at risk, of the lineage "
    "and of the checks."
)
_CURVE_NOTE_ALONE = "Survival at each census, pale its 95 % band. Below: trees at risk."
_CURVE_NAMES = {"lineage": "lineage", "check": "native check", "at_risk": "at risk", "check_at_risk": "native"}


@dataclass(frozen=True, slots=True)
class DrawnReport:
    """A report that is drawn and not issued: the document, and what is frozen with it."""

    document: Document
    figures: dict
    rests: list
    newest: dict
    head: tuple[int, str]
    moment: str
    rests_sha256: str


def draw_report(user, year, level, moment=None, *, number="", replaces=None, reason="", step=None):
    """The report of a year as the records are now. Without a `number` it is a draft.

    `replaces` is the report it takes the place of, for a `reason`; `step` is called with what comes next, how far it is, of how many.
    """
    say = step or (lambda *words: None)
    say("Reading the records", 0, 4, "parts")
    head = chain_head()
    newest = newest_records()
    rests = rests_on(user, level)
    places = survival_rows(user, ("site",), level, moment)
    table = survival_rows(user, _BY, level, moment)
    say("Comparing lineages", 1, 4, "parts")
    compared = lineage_comparison(user, level, table.moment, SurvivalFilter())
    found = compared.comparison
    found = replace(found, ranked=with_key_words(found.ranked), unranked=with_key_words(found.unranked))
    say("Life tables", 2, 4, "parts")
    lives = lineage_lifetimes(user, level, SurvivalFilter()).lives
    lives = replace(lives, lineages=with_key_words(lives.lineages))
    say("Drawing", 3, 4, "parts")
    sha256 = rests_sha256(rests)
    earlier = report_before(user, year)
    document = Document(
        title=f"Survival report {year}" + (f", number {number}" if number else ""), subtitle=programme_address(),
        made_on=timezone.localdate(),
        made=f"{'report ' + number if number else 'draft'}, records of {day_words(table.as_of)}, {user}", draft="" if number else "DRAFT",
        parts=(
            _facts(table, year, level, number, sha256, head, replaces, reason), _short(places, found, table),
            *lineage_parts(found, level), *_lives(lives), _by_site(places), _by_both(table, level), *_map(user), _quality(table, rests),
            *_changes(replaces or earlier, rests), *_definitions(table),
        ),
    )  # fmt: skip
    return DrawnReport(document, _figures(table), rests, newest, head, table.moment.code if table.moment else "", sha256)


def _facts(table: SurvivalTable, year, level, number, sha256, head, replaces, reason):
    moment = f"alive {local_text(table.moment.words)}" if table.moment else "no complete census"
    rows = [
        ("Report", f"number {number}" if number else "draft, not issued"),
        ("Year", str(year)),
        ("Records of", day_words(table.as_of)),
        ("Census shown", moment),
        ("Lineage taken as", LEVELS[level]),
        ("Replaces", f"report {replaces.number}: {reason}" if replaces else ""),
        ("What it rests on, SHA-256", sha256),
        ("Audit trail", f"{amount_words(head[0], 'entries')}, head {head[1]}" if head[1] else ""),
    ]
    return Facts(tuple((label, words) for label, words in rows if words), title="This report")


def _short(places, found, table):
    totals = [
        f"{local_text(row.role_plural).capitalize()}: {figure_words(row)}, over {amount_words(len(row.sites), 'sites')}."
        for row in places.totals
    ]
    what = [f"Share alive {local_text(table.moment.words)}, with its 95 % interval:"] if table.moment and totals else []
    lines = [*what, *totals, local_text(opening_sentence(found)), local_text(pressure_sentence(found))]
    waiting = [f"{amount_words(table.unread, 'records')} behind these figures: nobody has reviewed them yet."] if table.unread else []
    return Notes("In short", (*lines, *waiting, AUTHORITY))


def _lives(lives):
    if words := no_curve_sentence(lives):
        yield Notes("When they die", (local_text(words),))
        return
    tested = sum(one.test is not None for one in lives.lineages)
    largest = sorted((one for one in lives.lineages if one.has_curve), key=lambda one: (-one.trees, one.label))[:CURVES]
    if not largest:
        return
    lines = [local_text(lives_sentence(lives)), _CURVE_NOTE if any(one.check for one in largest) else _CURVE_NOTE_ALONE]
    if len(lives.lineages) > len(largest):
        lines.append(f"Drawn: {amount_words(len(largest), 'lineages')} with most trees, of {len(lives.lineages):,}.")
    yield Notes("When they die", tuple(lines))
    for one in sorted(largest, key=lambda one: one.label):
        yield Drawing(one.label, curve_picture(one, lives.ages, _CURVE_NAMES), local_text(life_sentence(one, lives, tested)))


_FROM_CHECKS, _NO_CHECKS = "From the checks", "No check was planted on these sites, so lineages are not compared with one."
_FIGURES = (
    TableColumn("Survival (95 % interval)", 2.6), TableColumn("Band", 1, "right"), TableColumn(_FROM_CHECKS, 2, "right"),
    TableColumn("Planted", 0.8, "right"), TableColumn("Assessed", 0.9, "right"), TableColumn("Alive", 0.7, "right"),
)  # fmt: skip


def _compared(rows):
    """(columns of figures, cells of a row, note): without a column of differences where no row has one."""
    if any(row.difference is not None and row.difference.estimate is not None for row in rows):
        return _FIGURES, _figure_cells, ""
    without = [place for place, column in enumerate(_FIGURES) if column.label != _FROM_CHECKS]
    return tuple(_FIGURES[place] for place in without), lambda row: [_figure_cells(row)[place] for place in without], _NO_CHECKS


def _figure_cells(row):
    figure = figure_words(row).partition(", band")[0]
    caveats = "; ".join(local_text(words) for words in row.caveats)
    return (
        f"{figure} ({caveats})" if caveats else figure, local_text(band_words(row)), local_text(difference_words(row)),
        f"{row.counts.planted:,}", f"{row.n:,}", f"{row.alive:,}",
    )  # fmt: skip


def _by_site(places):
    """Sites by their codes alone: a report leaves the office, and some landowners do not want their place named."""
    figures, cells, note = _compared(places.rows)
    columns = (TableColumn("Site", 1.6), TableColumn("Role", 1.1), *figures)
    rows = tuple((row.keys[0], local_text(row.role_words), *cells(row)) for row in places.rows)
    return Table("Survival by site", columns, rows, empty="No census is complete yet.", note=note if rows else "")


def _by_both(table, level):
    figures, cells, note = _compared(table.rows)
    columns = (TableColumn("Site", 1), TableColumn(LEVELS[level].capitalize(), 1.4), TableColumn("Role", 1), *figures)
    rows = tuple((row.keys[0], key_words(LINEAGE, row.keys[1], {}), local_text(row.role_words), *cells(row)) for row in table.rows)
    return Table("Survival by site and lineage", columns, rows, empty="No census is complete yet.", note=note if rows else "")


def _map(user):
    """Sites with a planting, each near its place: a report leaves the office, so no place on it is exact."""
    sites = Site.objects.for_user(user).filter(plantings__isnull=False).distinct().select_related("partner").order_by("code")
    positions = [(site, site_position(site, exact=False)) for site in sites]
    known = [(site, where) for site, where in positions if where.longitude is not None]
    if not known:
        if positions:
            yield Notes("Where the plantings are", (f"No map: {amount_words(len(positions), 'sites')} without a place that may be shown.",))
        return
    places = tuple((where.longitude, where.latitude, str(number)) for number, (_site, where) in enumerate(known, start=1))
    west, south, east, north = map_view([place[:2] for place in places], 1, 1).box
    wide, high = east - west, north - south
    left_off = len(positions) - len(known)
    note = f"North is up. {CREDIT}; simplified. No dot is the exact place." + (
        f" {amount_words(left_off, 'sites')} without a place that may be shown." if left_off else ""
    )
    key = tuple(f"{number} {site.code}" for number, (site, _where) in enumerate(known, start=1))
    outlines = outlines_within((west - wide, south - high, east + wide, north + high))
    yield Map(
        "Where the plantings are", outlines, places, (", ".join(key),), note, names_within(map_view([p[:2] for p in places], 1.9, 1).box)
    )


def _quality(table, rests):
    assessed, expected = sum(row.n for row in table.rows), sum(row.countable for row in table.rows)
    unaccounted = sum(row.counts.not_found + row.countable - row.n for row in table.rows)
    lines = [
        f"Complete rounds on file: {len({item['key'] for item in rests}):,}, "
        f"of {amount_words(len({item['planting'] for item in rests}), 'plantings')}. "
        f"A round is complete when its window has closed and at least {table.complete_percent} % of its positions were assessed.",
        f"Coverage of the census shown, trees and seeds: {assessed:,} of {expected:,} assessed (planted as test or check, less those "
        "removed for a reason that is not biological).",
        f"Trees and seeds unaccounted for in the census shown (not found, not located, not visited, state unclear): {unaccounted:,}. "
        "The band of each figure says what they could change.",
        table.second or "No second measurement of these rounds is handed in.",
        *(f"{item.planting} at {item.site} is not in the figures: {item.reason}." for item in table.left_out),
        *(f"{planting}: {words}." for planting, words in (progress_words(item, table.unread_count) for item in table.not_complete)),
        *(f"{item.planting}, {item.label}: {amount_words(item.records, 'records')} wait for a review and are not counted."
          for item in table.waiting),
        *([f"Records of the rounds shown that nobody has reviewed: {table.unread:,}, {'counted' if table.unread_count else 'not counted'}."]
          if table.unread else []),
    ]  # fmt: skip
    return Notes("Quality of the data", tuple(lines))


def _changes(earlier, rests):
    if earlier is None:
        yield Notes("What changed since the last report", ("No earlier report has been issued.",))
        return
    try:
        then = content_of(earlier)[1]
    except ReportDamaged as damaged:
        yield Notes(f"What changed since report {earlier.number}", (f"Cannot be told. {damaged}",))
        return
    found = differences(then, rests)
    more = [f"And {len(found) - CHANGES:,} more."] if len(found) > CHANGES else []
    nothing = [] if found else ["Nothing: the same rounds with the same counts."]
    yield Notes(f"What changed since report {earlier.number}", (*found[:CHANGES], *more, *nothing))


def _definitions(table):
    terms = (*definitions(table.protocol_versions, table.complete_percent), *lineage_definitions(), *lifetime_definitions())
    yield Facts(tuple((local_text(term), local_text(words)) for term, words in terms), title="Methods and definitions", label_share=0.22)


def _figures(table):
    """The figures of the report as numbers, without names of sites."""
    if table.moment is None:
        return {"columns": [], "rows": []}
    given = (_BY, table.moment, {}, table.as_of, table.unread_of, table.unread_count)
    return {"columns": export_headers(_BY), "rows": [_plain(export_row(row, *given)) for row in table.rows]}


def _plain(cells):
    return [str(cell) if isinstance(cell, str) else cell for cell in cells]
