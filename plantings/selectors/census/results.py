"""The result of a round on one page, with thanks to those who looked; and what changed since it was given out."""

from collections import Counter
from functools import reduce
from operator import or_
from statistics import median

from django.db.models import Exists, Max, OuterRef, Sum
from django.utils.translation import gettext, ngettext

from plantings.calc.census.codes import ALIVE, NOT_VISITED, listed_words
from plantings.choices import EntryRole
from plantings.models import CountReview, Observation, PlotCount, Review, RoundResult, SurvivalTally
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.progress_words import of_words
from plantings.selectors.census.reviews import waiting_counts
from plantings.selectors.census.second import agreement_words, first_people, recorded_values
from plantings.selectors.plantings.complete_rounds import parts_not_complete
from registry.choices import LotKind
from registry.prints.document import Alert, Document, Facts, Notes, Table, TableColumn
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_day, local_number

__all__ = ["changed_since", "newest_of", "result_document", "results_given_out", "results_overtaken"]

_COUNTED = (EntryRole.TEST, EntryRole.CHECK)
# the columns of the tally, each with the word of its fate
_FATES = (
    ("alive", "alive"), ("dead", "dead"), ("presumed_dead", "presumed dead"), ("not_found", "not found"),
    ("unclear", "seen but state unclear"), ("not_located", "not located"), ("not_visited", "not visited"), ("removed", "removed"),
    ("removed_excluded", "removed, not for a biological reason"),
)  # fmt: skip


# what a result was drawn from: the column of it that holds the newest key, the records, and their way to the round
_DRAWN_FROM = (
    ("newest_record", Observation, "round"), ("newest_review", Review, "observation__round"),
    ("newest_count", PlotCount, "round"), ("newest_count_review", CountReview, "count__round"),
)  # fmt: skip


def newest_of(census_round):
    """{column of a result: key of the newest record, or review, of a round}, 0 for none. Four queries."""
    return {name: model.objects.filter(**{path: census_round}).aggregate(pk=Max("pk"))["pk"] or 0 for name, model, path in _DRAWN_FROM}


def changed_since(result):
    """How many records and reviews of its round came after a result, of trees and of plots. Four queries."""
    return sum(
        model.objects.filter(**{path: result.round_id, "pk__gt": newest}).count()
        for name, model, path in _DRAWN_FROM
        if (newest := getattr(result, name)) is not None
    )


def results_overtaken(user, rounds):
    """The results of some rounds that were given out before records or reviews that came later, the newest first. One query, or none
    without rounds."""
    if not rounds:
        return ()
    later = reduce(
        or_, (Exists(model.objects.filter(**{path: OuterRef("round"), "pk__gt": OuterRef(name)})) for name, model, path in _DRAWN_FROM)
    )
    results = RoundResult.objects.for_user(user).filter(later, round__in=rounds)
    return tuple(results.select_related("round__planting", "issued").order_by("-entered_at", "-pk"))


def results_given_out(user, census_round):
    """[(result, how many records and reviews came after it)], the newest first."""
    results = RoundResult.objects.for_user(user).filter(round=census_round).select_related("issued", "entered_by")
    return [(result, changed_since(result)) for result in results]


def result_document(census_round, *, scan, made_on, made):
    """One page for the crew: what became of the trees, what was measured, how far two people agree, thanks."""
    planting = census_round.planting
    records = list(Observation.objects.counting().filter(round=census_round).select_related("entered_by", "tree__entry"))
    counts = list(PlotCount.objects.counting().filter(round=census_round).select_related("entered_by"))
    unread, asked_back = waiting_counts([census_round.pk])[census_round.pk]
    season = {"round": census_round.label, "n": census_round.growing_seasons}
    window = {"opens": local_day(census_round.opens_on), "closes": local_day(census_round.closes_on)}
    facts = (
        (gettext("Site"), f"{planting.site.name} ({planting.site.code})"),
        (gettext("Planting"), planting.code),
        (gettext("Round"), gettext("%(round)s, growing seasons completed: %(n)s") % season),
        (gettext("Window"), gettext("%(opens)s to %(closes)s") % window),
    )
    return Document(
        title=gettext("Result of the census %(round)s, %(planting)s") % {"round": census_round.label, "planting": planting.code},
        code=planting.code, scan=scan, made_on=made_on, made=made, page_words=gettext("page %(number)s of %(count)s"), least_scale=0.8,
        parts=(Facts(facts, columns=2), *_not_final(census_round, unread + asked_back), *_thanks(records, counts), *_fates(census_round),
               *_measured(census_round, records), *_quality(census_round)),
    )  # fmt: skip


def _not_final(census_round, unread):
    """What may still change: positions that nobody has assessed in a round that is not complete, and records nobody has read."""
    lines = []
    for part in parts_not_complete().filter(round=census_round).order_by("sown"):
        words = (
            gettext("The round is not complete: %(share)s seeds under test and of checks are assessed.")
            if part.sown
            else gettext("The round is not complete: %(share)s trees under test and of checks are assessed.")
        )
        lines.append(words % {"share": of_words(part.assessed, part.countable)})
    if unread:
        lines.append(
            ngettext("%(n)s record is not reviewed yet.", "%(n)s records are not reviewed yet.", unread) % {"n": local_count(unread)}
        )
    if lines:
        yield Alert(gettext("Not final"), tuple(lines))


def _thanks(records, counts):
    """Who looked, at how many trees and plots. Who only noted that trees were not visited has not looked at them."""
    looked = (
        ("trees", Counter(first_people(record) for record in records if record.status != NOT_VISITED)),
        ("plots", Counter(first_people(count) for count in counts)),
    )
    names = sorted({who for _unit, found in looked for who in found})
    words = gettext("%(who)s: %(looked)s")
    lines = [words % {"who": who, "looked": ", ".join(local_amount(of[who], unit) for unit, of in looked if of[who])} for who in names]
    if lines:
        yield Notes(gettext("Thank you"), (gettext("These people looked at the trees:"), *lines))


def _fates(census_round):
    """A table of the planted trees, and one of the seed sown in place, which is another population."""
    tallies = SurvivalTally.objects.filter(round=census_round, entry__role__in=_COUNTED)
    planted, sown = tallies.exclude(entry__lot__kind=LotKind.SEED), tallies.filter(entry__lot__kind=LotKind.SEED)
    if planted.exists() or not sown.exists():
        yield _fates_table(gettext("What became of the trees"), gettext("Trees"), planted)
    if sown.exists():
        yield _fates_table(gettext("What became of the seed sown in place"), gettext("Seeds"), sown)


def _fates_table(title, unit, tallies):
    sums = tallies.aggregate(**{name: Sum(name) for name, _word in _FATES})
    rows = tuple((gettext(word), local_count(sums[name])) for name, word in _FATES if sums[name])
    columns = (TableColumn(gettext("Fate"), 4), TableColumn(unit, 1, "right"))
    note = gettext("Under test and as checks. Those not visited are not counted as dead.")
    return Table(title, columns, rows, note=note, empty=gettext("No record counts yet."))


def _measured(census_round, records):
    asked = asked_at(census_round)
    alive = [recorded_values(record, asked) for record in records if record.status in ALIVE and record.tree.entry.role in _COUNTED]
    rows = []
    for item in asked:
        if item.classes:
            continue
        values = sorted(float(found[item.field]) for found in alive if item.field in found)
        if values:
            numbers = (values[0], median(values), values[-1])
            rows.append(
                (
                    f"{local_text(item.label)} ({local_text(item.unit)})",
                    local_count(len(values)),
                    *(local_number(f"{number:.4g}") for number in numbers),
                )
            )
    if rows:
        names = (gettext("Trees"), gettext("Lowest"), gettext("Middle"), gettext("Highest"))
        columns = (TableColumn(gettext("Measured on living trees"), 3), *(TableColumn(name, 1, "right") for name in names))
        yield Table(gettext("What was measured"), columns, tuple(rows))
    yield from _classes([item for item in asked if item.classes], alive)


def _classes(asked, alive):
    """How many living trees are in each class, of each measurement in classes."""
    rows = []
    for item in asked:
        counts = Counter(str(found[item.field]) for found in alive if item.field in found)
        words = ((listed_words(code, local_text(label)), counts[str(code)]) for code, label, _ in item.classes)
        said = "; ".join(
            gettext("%(label)s: %(words)s") % {"label": word, "words": local_count(number)} for word, number in words if number
        )
        if counts:
            rows.append((local_text(item.short_label), local_count(sum(counts.values())), said))
    if rows:
        columns = (TableColumn(gettext("Seen on living trees"), 2), TableColumn(gettext("Trees"), 1, "right"),
                   TableColumn(gettext("Trees in each class"), 5))  # fmt: skip
        yield Table(gettext("What was seen"), columns, tuple(rows))


def _quality(census_round):
    if words := agreement_words([census_round.pk]):
        yield Notes(gettext("Measured again"), (words,))
