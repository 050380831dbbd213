"""The columns of the survival table, and what is one click behind each row."""

from dataclasses import replace
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.groups import BY, LEVELS, LINEAGE, TEST
from plantings.calc.survival.words import band_words, difference_words, pressure_words
from plantings.selectors.census.progress_words import of_words
from plantings.selectors.survival.rounds import NOT_KNOWN
from registry.choices import NO, YES
from registry.selectors.pedigree.lineage import NOT_STATED, OUTSIDE
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number
from registry.views.shared.downloads import columns_response
from registry.views.shared.tables import Column

# keys of a table that stand for nothing on file
_NOT_KNOWN = {NOT_KNOWN, NOT_STATED, OUTSIDE}


def heads(table):
    return [LEVELS[table.level] if word == LINEAGE else BY[word] for word in table.by]


def key_words(word, key, names):
    if word == "site" and names.get(key):
        return f"{key} {names[key]}"
    return gettext(key) if key in _NOT_KNOWN else key


def with_key_words(lineages):
    """Compared lineages (`LineageRow`, `LineageLife`), those without a name on file under words in the language of the reader."""
    return tuple(replace(one, label=key_words(LINEAGE, one.label, {})) for one in lineages)


def label(keys, table):
    return " · ".join(key_words(word, key, table.site_names) for word, key in zip(table.by, keys, strict=True))


def lineage_url(level, label):
    """The page of one lineage."""
    return f"{reverse('survival_lineage')}?{urlencode({'level': level, 'lineage': label})}"


def place_columns(table):
    def url(word, place):
        if word != LINEAGE:
            return None
        return lambda row: lineage_url(table.level, row.keys[place]) if row.role == TEST else None

    return [
        Column(
            gettext(head).capitalize(),
            lambda row, word=word, place=place: key_words(word, row.keys[place], table.site_names),
            url=url(word, place),
        )
        for place, (word, head) in enumerate(zip(table.by, heads(table), strict=True))
    ]


def figures_response(columns, rows, behind, name, wanted):
    """Figures as a download. Each row ends with how many records behind all of them nobody has accepted, and whether these count, as a
    RecordsBehind says it: a sheet travels without its page."""
    counted = YES if behind.unread_count else NO
    ends = (Column("Unread records behind the table", lambda row: behind.unread), Column("Unread records counted", lambda row: counted))
    return columns_response((*columns, *ends), rows, name, wanted)


def survival_columns(table, address, then=False):
    """(columns of the table, those of them that are links); `then` adds what the records said at the time."""
    at_the_time = [Column(_("As recorded then"), _then_words, "right")] if then else []
    links = _behind_columns(table, address)
    return [
        *place_columns(table),
        _FIGURES[0],
        *at_the_time,
        *links,
        Column(_("Role"), lambda row: local_text(row.role_words)),
        *_FIGURES[1:],
    ], links


def _behind_columns(table, address):
    """Links to the mother trees and the causes of death of each row's group."""
    return (
        Column(_("Mothers"), lambda row: _("mother trees"), url=lambda row: behind(table, row, address, by=LINEAGE, level="mother")),
        Column(_("Causes"), lambda row: _("causes"), url=lambda row: behind(table, row, address, view="causes")),
    )


def behind(table, row, address, **show):
    """The address of the page that shows one row's group in another way."""
    query = {"by": "-".join(table.by), "level": table.level, "at": table.moment.code, "role": row.role}
    for word, key in zip(table.by, row.keys, strict=True):
        query |= {"of_level": table.level, "of_lineage": key} if word == LINEAGE else {word: key}
    return f"{address}?{urlencode(query | show)}"


def _then_words(row):
    counts = row.counts
    if not counts.assessed_then:
        return _("not assessed")
    share = local_number(f"{counts.alive_then / counts.assessed_then:.2f}")
    return f"{share}, {of_words(counts.alive_then, counts.assessed_then)}"


def _figure_without_band(row):
    """What `survival_figure` prints, without the band: only for the table, which has a column of it beside."""
    return {name: getattr(row, name) for name in ("alive", "n", "share", "low", "high", "reason", "countable", "caveats")}


def _count(name):
    return lambda row: getattr(row.counts, name)


def _checks(row):
    """The lots of the checks where there are any; where there are none the difference already says so."""
    lots = row.checks.lots if row.checks else ()
    if len(lots) <= 3:
        return ", ".join(lots)
    return f"{', '.join(lots[:2])} {_('and %(number)s more') % {'number': len(lots) - 2}}"


_FIGURES = (
    Column(_("Survival (95 % interval)"), _figure_without_band, kind="interval"),
    Column(_("Band"), lambda row: local_text(band_words(row)), "right"),
    Column(_("From the checks"), lambda row: local_text(difference_words(row)), "right"),
    Column(_("Checks"), _checks),
    Column(_("Disease pressure"), lambda row: local_text(pressure_words(row)), "right"),
    Column(_("Sites"), lambda row: len(row.sites), "right", "number"),
    Column(_("Planted"), _count("planted"), "right", "number"),
    Column(_("Assessed"), "n", "right", "number"),
    Column(_("Alive"), _count("alive"), "right", "number"),
    Column(_("of which resprout"), _count("resprout"), "right", "number"),
    Column(_("Dead"), _count("dead"), "right", "number"),
    Column(_("Presumed dead"), _count("presumed_dead"), "right", "number"),
    Column(_("Not found"), _count("not_found"), "right", "number"),
    Column(_("Unclear"), _count("unclear"), "right", "number"),
    Column(_("Not located"), _count("not_located"), "right", "number"),
    Column(_("Not visited"), _count("not_visited"), "right", "number"),
    Column(_("Removed, assessed"), _count("removed"), "right", "number"),
    Column(_("Removed, not counted"), _count("removed_excluded"), "right", "number"),
)
