"""The records of the census against the audit trail, planting by planting."""

from collections import defaultdict

from plantings.models import CensusRound, CountedPlot, Observation, Planting, Review, Tree, WithdrawnRecord
from registry.calc.shared.screen import amount_words
from registry.models import AuditEntry
from registry.selectors.audit.record_hashes import HASHES, HashSum, record_hashes
from registry.selectors.audit.verify import Check

__all__ = ["check_census", "check_reviews", "check_withdrawn"]


def check_census():
    """How many census records of trees a planting has, and the sum of their hashes, against the audit trail.

    It says which planting is wrong, not which record. Where some were written before the trail had sums, only the numbers are compared.
    """
    return _check("Census records of trees", "census records", Observation, "round", "planting.census_recorded", "observations")


def check_reviews():
    """The same of the reviews of census records."""
    return _check("Reviews of census records", "reviews", Review, "observation__round", "planting.census_reviewed", "reviews")


def check_withdrawn():
    """Trees, counted plots and rounds without a planting: a withdrawal says of each what it was, and none of them came back."""
    faults, seen = [], 0
    for name, model in (("tree", Tree), ("plot", CountedPlot), ("round", CensusRound)):
        without = set(model._base_manager.filter(planting__isnull=True).values_list("pk", flat=True))
        withdrawn = set(WithdrawnRecord.objects.filter(**{f"{name}__isnull": False}).values_list(name, flat=True))
        seen += len(withdrawn)
        kind = model._meta.verbose_name
        faults += [f"{kind} no. {pk}: it has no planting, and no load was withdrawn with it" for pk in sorted(without - withdrawn)]
        faults += [f"{kind} no. {pk}: it was withdrawn, and is in a planting again" for pk in sorted(withdrawn - without)]
    return Check("Withdrawn trees, plots and rounds", amount_words(seen, "records"), faults)


def _rounds():
    """{planting: its rounds}, with those that were withdrawn from it."""
    found = defaultdict(list)
    for pk, planting in CensusRound.objects.values_list("pk", "planting"):
        found[planting].append(pk)
    for pk, planting in WithdrawnRecord.objects.filter(round__isnull=False).values_list("round", "planting_number"):
        found[planting].append(pk)
    return found


def _check(title, words, model, round_of, verb, counted_as):
    """`round_of` leads from a record to its round; entries with `verb` count the records under `counted_as` among their changes."""
    counts, sums, without_sum = {}, {}, set()
    entries = AuditEntry.objects.filter(verb=verb, changes__has_key=counted_as).order_by()
    for planting, changes in entries.values_list("record_id", "changes").iterator(chunk_size=500):
        rows = changes[counted_as][1]
        counts[planting] = counts.get(planting, 0) + rows
        written = changes[HASHES][1].get(model._meta.model_name) if HASHES in changes else None
        if written is None:
            without_sum.add(planting)
        else:
            sums.setdefault(planting, HashSum()).add(written["sum"], written["rows"])
    codes, rounds, faults, seen = dict(Planting.objects.values_list("pk", "code")), _rounds(), [], 0
    for planting in sorted(counts.keys() | codes.keys()):
        found = HashSum()
        for _pk, sha256 in record_hashes(model.objects.filter(**{f"{round_of}__in": rounds[planting]})):
            found.add(sha256)
        seen += found.rows
        wanted, name = counts.get(planting, 0), codes.get(planting, f"no. {planting}, which no longer exists")
        if found.rows != wanted:
            faults.append(f"planting {name}: {wanted:,} {words} were written, {found.rows:,} are there")
        elif wanted and planting not in without_sum and found.total != sums[planting].total:
            faults.append(f"planting {name}: of its {wanted:,} {words} at least one was changed after it was written")
    if lost := model.objects.count() - seen:
        faults.append(f"{lost:,} {words} are of no planting: they were added outside the program")
    return Check(title, f"{amount_words(seen, 'records')} of {amount_words(len(counts), 'plantings')}", faults)
