"""The records of the census against the audit trail, planting by planting."""

from django.db.models import F

from plantings.models import Observation, Planting, Review
from registry.calc.shared.screen import amount_words
from registry.models import AuditEntry
from registry.selectors.audit.record_hashes import HASHES, record_hashes, sum_words
from registry.selectors.audit.verify import Check

__all__ = ["check_census", "check_reviews"]


def check_census():
    """How many census records of trees a planting has, and the sum of their hashes, against the audit trail.

    It says which planting is wrong, not which record. Where some were written before the trail had sums, only the numbers are compared.
    """
    of = dict(Observation.objects.order_by().annotate(planting=F("round__planting")).values_list("pk", "planting"))
    return _check("Census records of trees", "census records", Observation, of, "planting.census_recorded", "observations")


def check_reviews():
    """The same of the reviews of census records."""
    of = dict(Review.objects.order_by().annotate(planting=F("observation__round__planting")).values_list("pk", "planting"))
    return _check("Reviews of census records", "reviews", Review, of, "planting.census_reviewed", "reviews")


def _check(title, words, model, of, verb, counted_as):
    """`of` is {record pk: planting pk}; the entries with `verb` count the records under `counted_as` among their changes."""
    counts, sums, without_sum = {}, {}, set()
    entries = AuditEntry.objects.filter(verb=verb, changes__has_key=counted_as).order_by()
    for planting, changes in entries.values_list("record_id", "changes").iterator(chunk_size=500):
        counts[planting] = counts.get(planting, 0) + changes[counted_as][1]
        written = changes[HASHES][1].get(model._meta.model_name) if HASHES in changes else None
        if written is None:
            without_sum.add(planting)
        else:
            sums.setdefault(planting, []).append(written["sum"])
    there = {}
    for pk, sha256 in record_hashes(model.objects.all()):
        number, total = there.get(of[pk], (0, 0))
        there[of[pk]] = number + 1, total + int(sha256, 16)
    codes = dict(Planting.objects.values_list("pk", "code"))
    faults = []
    for planting in sorted(counts.keys() | there.keys()):
        number, total = there.get(planting, (0, 0))
        wanted, name = counts.get(planting, 0), codes.get(planting, f"no. {planting}, which no longer exists")
        if number != wanted:
            faults.append(f"planting {name}: {wanted:,} {words} were written, {number:,} are there")
        elif planting not in without_sum and sum_words([f"{total:x}"]) != sum_words(sums[planting]):
            faults.append(f"planting {name}: of its {number:,} {words} at least one was changed after it was written")
    return Check(title, f"{amount_words(len(of), 'records')} of {amount_words(len(counts), 'plantings')}", faults)
