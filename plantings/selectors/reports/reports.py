"""What a survival report rests on, and what changed under those that were issued."""

import hashlib
import json
from collections import defaultdict

from django.db.models import Count, Max

from plantings.calc.reports.changes import differences
from plantings.calc.survival.groups import LINEAGE, ROLES_COUNTED
from plantings.calc.survival.tallies import COUNT_NAMES
from plantings.models import CountReview, IssuedReport, Observation, PlotCount, Review, SurvivalTally
from plantings.selectors.survival.rounds import SurvivalFilter, rounds_in_scope
from plantings.selectors.survival.tallies import GroupLabels
from registry.calc.shared.screen import amount_words
from registry.prints.stored import canonical_json, read_document
from registry.selectors.identity.descent import linked
from registry.selectors.permits.documents import content_fault, stored_path

__all__ = [
    "changed_since", "check_reports", "content_of", "in_force", "newest_records", "next_number", "report_before", "rests_on",
    "rests_sha256",
]  # fmt: skip

_RECORDS = (
    ("records", Observation, "round"), ("reviews", Review, "observation__round"),
    ("counts of plots", PlotCount, "round"), ("reviews of counts", CountReview, "count__round"),
)  # fmt: skip
# plots whose number planted is unknown are in no report
_APART = {PlotCount: {"plot__planted_count__isnull": True}, CountReview: {"count__plot__planted_count__isnull": True}}


def rests_on(user, level):
    """Every complete round that figures are made from, with the counts of each lot and its lineage at a level, in a fixed order."""
    rounds = rounds_in_scope(user, SurvivalFilter())
    parts = {(part.round, part.sown): part for listed in rounds.by_planting.values() for part in rounds.usable(listed)}
    labels = GroupLabels((LINEAGE,), level, SurvivalFilter())
    tallies = SurvivalTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED)
    rows = linked(tallies, "round", {pk for pk, _sown in parts}, "round", "entry__lot", "entry__role", *COUNT_NAMES)
    labels.learn({row[1] for row in rows})
    entries = defaultdict(list)
    for round_pk, lot_pk, role, *counts in rows:
        code, _standard, sown = labels.lots[lot_pk]
        if (round_pk, sown) in parts:
            entries[round_pk, sown].append([code, role, str(labels.lineage(lot_pk, role)), *counts])
    found = [
        {"key": pk, "planting": part.planting, "site": part.site, "round": part.label, "age": part.age, "sown": sown,
         "entries": sorted(entries[pk, sown])}
        for (pk, sown), part in parts.items()
    ]  # fmt: skip
    return sorted(found, key=lambda one: (one["planting"], one["age"], one["key"], one["sown"]))


def rests_sha256(rests):
    return content_sha256(canonical_json(rests))


def newest_records():
    """{kind of record: its newest key}, 0 for none: what comes later has a larger one."""
    return {name: model.objects.aggregate(pk=Max("pk"))["pk"] or 0 for name, model, _path in _RECORDS}


class ReportDamaged(Exception):
    """The frozen content of a report is not what was stored."""


def content_of(report):
    """(the document, what it rests on, the newest records) of an issued report, as they were frozen. Raises ReportDamaged."""
    if content_sha256(report.content) != report.content_sha256:
        raise ReportDamaged(
            "What this report says was changed in the database, so it is not shown. Its PDF may be intact: the command verify checks it."
        )
    content = json.loads(report.content)
    return read_document(content["document"]), content["rests"], content["newest"]


def content_sha256(content):
    return hashlib.sha256(content.encode()).hexdigest()


def changed_since(user, report):
    """(sentences about rounds whose counts differ, sentences about records that came later) since a report was issued."""
    _document, rests, newest = content_of(report)
    keys = {item["key"]: f"{item['planting']}, census {item['round']}" for item in rests}
    later = []
    for name, model, path in _RECORDS:
        rows = (
            model.objects.filter(pk__gt=newest[name])
            .exclude(**_APART.get(model, {}))
            .order_by(path)
            .values_list(path)
            .annotate(n=Count("pk"))
        )
        later += [f"{keys[round_pk]}: {name} that came later: {n:,}." for round_pk, n in rows if round_pk in keys]
    return differences(rests, rests_on(user, report.level)), sorted(later)


def in_force(user):
    """The reports that no later one replaces, the newest first."""
    return IssuedReport.objects.for_user(user).filter(superseded_by=None).order_by("-year", "-pk")


def report_before(user, year):
    """The report in force of the latest earlier year, or None."""
    return in_force(user).filter(year__lt=year).first()


def next_number(year):
    """The number of the next report of a year: '2026-2'."""
    return f"{year}-{IssuedReport.objects.filter(year=year).count() + 1}"


def check_reports():
    """For `verify`: the frozen numbers of each report have their hash, and so has its PDF."""
    from registry.selectors.audit.verify import Check

    faults, number = [], 0
    for report in IssuedReport.objects.select_related("pdf").order_by("pk").iterator(chunk_size=50):
        number += 1
        if content_sha256(report.content) != report.content_sha256:
            faults.append(f"report {report.number}: its numbers do not have their SHA-256")
        if rests_sha256(json.loads(report.content)["rests"]) != report.rests_sha256:
            faults.append(f"report {report.number}: what it rests on does not have its SHA-256")
        if fault := content_fault(stored_path(report.pdf.sha256), report.pdf.sha256):
            faults.append(f"report {report.number}: its PDF: {fault}")
    return Check("Issued reports", amount_words(number, "reports"), faults)
