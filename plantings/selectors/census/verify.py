"""The records of the census against the audit trail, planting by planting."""

from django.db.models import F

from plantings.models import Observation, Planting
from registry.calc.shared.screen import amount_words
from registry.models import AuditEntry
from registry.selectors.audit.record_hashes import HASHES, record_hashes, sum_words
from registry.selectors.audit.verify import Check

__all__ = ["check_census"]


def check_census():
    """How many census records of trees a planting has, and the sum of their hashes, against the audit trail.

    It says which planting is wrong, not which record. Where some were written before the trail had sums, only the numbers are compared.
    """
    counts, sums, without_sum = {}, {}, set()
    entries = AuditEntry.objects.filter(verb="planting.census_recorded", changes__has_key="observations").order_by()
    for planting, changes in entries.values_list("record_id", "changes").iterator(chunk_size=500):
        counts[planting] = counts.get(planting, 0) + changes["observations"][1]
        written = changes[HASHES][1].get("observation") if HASHES in changes else None
        if written is None:
            without_sum.add(planting)
        else:
            sums.setdefault(planting, []).append(written["sum"])
    of = dict(Observation.objects.order_by().annotate(planting=F("round__planting")).values_list("pk", "planting"))
    there = {}
    for pk, sha256 in record_hashes(Observation.objects.all()):
        number, total = there.get(of[pk], (0, 0))
        there[of[pk]] = number + 1, total + int(sha256, 16)
    codes = dict(Planting.objects.values_list("pk", "code"))
    faults = []
    for planting in sorted(counts.keys() | there.keys()):
        number, total = there.get(planting, (0, 0))
        wanted, name = counts.get(planting, 0), codes.get(planting, f"no. {planting}, which no longer exists")
        if number != wanted:
            faults.append(f"planting {name}: {wanted:,} census records were written, {number:,} are there")
        elif planting not in without_sum and sum_words([f"{total:x}"]) != sum_words(sums[planting]):
            faults.append(f"planting {name}: of its {number:,} census records at least one was changed after it was written")
    return Check("Census records of trees", f"{amount_words(len(of), 'records')} of {amount_words(len(counts), 'plantings')}", faults)
