"""Proofs that the records are as they were written: triggers, the audit chain and the rows it holds, files, answers of the gate, papers.

Rows are read as a stream, and their hashes added up: the memory that takes does not depend on how many there are.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from django.core.files.storage import default_storage
from django.db import connection
from django.db.models import Sum

from registry.calc.audit.chain import first_break
from registry.calc.shared.iso import iso_day
from registry.calc.shared.screen import amount_words
from registry.disk.whole_files import unfinished
from registry.models import (
    AuditEntry,
    Authorization,
    AuthorizationDraw,
    AuthorizationStateRecord,
    AuthorizationVersion,
    Determination,
    Requirement,
    RuleVerification,
)
from registry.models.append_only import unprotected
from registry.models.audit import stored_name
from registry.selectors.audit.chain_head import chain_head
from registry.selectors.audit.record_hashes import HASHES, OLDER, HashSum, append_only_models, record_hashes, row_name, sum_words
from registry.selectors.audit.stored_files import named_files
from registry.selectors.audit.verify_states import state_faults
from registry.selectors.gate.determinations import repeat_fault
from registry.selectors.identity.questions import spread_differences
from registry.selectors.permits.as_of import SAID
from registry.selectors.permits.documents import content_fault

__all__ = ["CHECKS", "Check", "summed_by", "verify_book"]

_CHUNK = 500
_VERIFIED = ("verified_on", "verified_with", "verified_by", "review_by")  # what a rule repeats of its last verification
_NO_HASH = "It was added outside the program."


@dataclass(frozen=True, slots=True)
class Check:
    """What one check looked at, and what is wrong where; no faults when nothing is."""

    title: str
    looked_at: str
    faults: list[str] = field(default_factory=list)


def verify_book(outside: str = "") -> Iterator[Check]:
    """Every check, one after the other; `outside` is a head of the audit chain noted elsewhere, or blank.

    Read inside `one_state` where others may save meanwhile.
    """
    for check in CHECKS:
        yield check()
    if outside:
        yield check_outside(outside)


def check_chain():
    """The audit trail entry by entry, and its end against the stored head."""
    walked = _Walk(AuditEntry.objects.order_by("pk"))
    found = first_break((entry.previous_sha256, entry.sha256, entry.content) for entry in walked)
    faults = []
    if found:
        faults.append(f"entry {found.number} of the chain (no. {walked.last.pk}, {walked.last}): {found.what}")
        return Check("Audit chain", f"{amount_words(found.number, 'entries')} to the break", faults)
    entries, head = chain_head()
    if walked.count != entries:
        counted = f"the stored head counts {amount_words(entries, 'entries')}, the trail has {walked.count:,}"
        faults.append(f"{counted}: entries were removed or added at its end")
    last = walked.last.sha256 if walked.last else ""
    if last != head:
        faults.append(f"the stored head is {head or 'none'}, the last entry has {last or 'none'}")
    return Check("Audit chain", amount_words(walked.count, "entries"), faults)


class _Walk:
    """Records as they stream by, counted; `last` is the one read last."""

    def __init__(self, queryset):
        self.queryset, self.count, self.last = queryset, 0, None

    def __iter__(self):
        for record in self.queryset.iterator(chunk_size=_CHUNK):
            self.count, self.last = self.count + 1, record
            yield record


def check_outside(head):
    """Whether a head noted elsewhere is still in the chain: a chain that somebody wrote again no longer has it."""
    entry = AuditEntry.objects.filter(sha256=head.strip().lower()).first()
    if entry is None:
        return Check("Head noted elsewhere", head, ["no entry of the chain has this hash: the chain was written again since then"])
    return Check("Head noted elsewhere", f"entry no. {entry.pk} of {iso_day(entry.at)} has it")


def check_triggers():
    """Whether the database still refuses changes to every append-only table."""
    tables = [model._meta.db_table for model in append_only_models()]
    faults = [f"table {table}: the database no longer refuses {verb}" for table, verb in unprotected(connection, tables)]
    return Check("Append-only tables", amount_words(len(tables), "tables"), faults)


def check_records():
    """The append-only rows against the hashes that the audit trail has of them.

    First by type, how many there are and the sum of their hashes; row by row only where these differ. Rows of older versions of the
    program have none; the trail says how many they are and the sum of their hashes. Not seen: many-to-many links. Records of the
    census have checks of their own.
    """
    written, older = _trail_sums()
    faults, count, types, allowed = [], 0, 0, 0
    for model in append_only_models():
        if model is AuditEntry or model in SUMMED:
            continue
        name, found = stored_name(model), HashSum()
        for _pk, sha256 in record_hashes(model._base_manager.all()):
            found.add(sha256)
        expected, taken_over = written.get(name, HashSum()), older.get(name, {"rows": 0, "sum": ""})
        if taken_over["rows"]:
            expected.add(taken_over["sum"], taken_over["rows"])
        if found == expected:
            allowed += taken_over["rows"]
        else:
            faults += _row_faults(model, taken_over)
        types, count = types + 1, count + found.rows
    seen = f"{amount_words(count, 'records')} of {amount_words(types, 'types')}"
    return Check("Append-only records", f"{seen}, {allowed:,} of them of older versions of the program" if allowed else seen, faults)


def _trail_hashes():
    """(name, hash or sum) of what the entries of the audit trail say of append-only rows, as a stream."""
    entries = AuditEntry.objects.filter(changes__has_key=HASHES).order_by("pk").values_list("changes")
    for (changes,) in entries.iterator(chunk_size=_CHUNK):
        yield from changes[HASHES][1].items()


def _trail_sums():
    """({type: its `HashSum`}, {type: rows and sum of older versions}) as the audit trail has them."""
    written, older = {}, {}
    for name, value in _trail_hashes():
        if isinstance(value, str):
            written.setdefault(name.rpartition(" ")[0], HashSum()).add(value)
        elif name.startswith(OLDER):
            older[name.removeprefix(f"{OLDER} ")] = value
    return written, older


def _row_faults(model, taken_over):
    """Which rows of a type are not as they were written."""
    start = row_name(model, "")
    hashes = {name: value for name, value in _trail_hashes() if isinstance(value, str) and name.startswith(start)}
    faults, without = [], []
    for pk, sha256 in record_hashes(model._base_manager.all()):
        name = row_name(model, pk)
        written = hashes.pop(name, None)
        if written is None:
            without.append((name, sha256))
        elif written != sha256:
            faults.append(f"{name}: it was changed after it was written")
    found = {"rows": len(without), "sum": sum_words(sha256 for _name, sha256 in without)}
    if without and not taken_over["rows"]:
        faults += [f"{name}: the audit trail has no hash of it. {_NO_HASH}" for name, _sha256 in without]
    elif taken_over["rows"] and found != taken_over:
        faults.append(_older_fault(model, found, taken_over, without))
    return faults + [f"{name}: it was removed" for name in hashes]


def _older_fault(model, found, taken_over, without):
    kind = f"rows of {model._meta.model_name}"
    if found["rows"] == taken_over["rows"]:
        return f"{kind}: of the {found['rows']:,} of older versions of the program at least one was changed"
    listed = ", ".join(name for name, _sha256 in without[:5])
    there = f"{found['rows']:,} have no hash in the audit trail, and {taken_over['rows']:,} had none when the program was upgraded"
    return f"{kind}: {there}; rows were added or removed outside the program. Without a hash: {listed}{' …' if len(without) > 5 else ''}"


def check_files():
    """Every file a record names, against its hash. Uploads that were stopped and files without a record are counted."""
    faults, walked, paths = [], 0, set()
    for named in named_files():
        walked += 1
        paths.add(named.path)
        if fault := content_fault(named.path, named.sha256):
            faults.append(f"{named}: {fault}")
    folder = Path(default_storage.location)
    parts = unfinished(folder)
    others = sum(1 for path in folder.rglob("*") if path.is_file() and path.relative_to(folder).as_posix() not in paths) - len(parts)
    more = [f"{others:,} without a record"] * bool(others) + [f"{len(parts):,} of uploads that did not end"] * bool(parts)
    return Check("Stored files", ", ".join([amount_words(walked, "files"), *more]), faults)


def check_answers():
    """Every stored answer of the gate, worked out again."""
    faults, walked = [], _Walk(Determination.objects.order_by("pk"))
    for record in walked:
        fault = repeat_fault(record)
        if fault:
            faults.append(f"answer no. {record.pk} about {record.subject or record.activity}, {record.asked_for}: {fault}")
    return Check("Answers of the gate", amount_words(walked.count, "answers"), faults)


def check_draws():
    """The drawn total of each paper against the sum of its draws."""
    drawn = dict(AuthorizationDraw.objects.order_by().values_list("authorization").annotate(n=Sum("quantity")))
    faults, walked = [], _Walk(Authorization.objects.order_by("pk"))
    for paper in walked:
        if paper.drawn != drawn.get(paper.pk, 0):
            faults.append(f"paper {paper.code}: {paper.drawn:,} are stored as drawn, its draws add up to {drawn.get(paper.pk, 0):,}")
    return Check("Draws on papers", f"{amount_words(walked.count, 'papers')}, {len(drawn):,} of them drawn on", faults)


def check_papers():
    """Every paper against its last version and its last state."""
    versions, states = _last(AuthorizationVersion, ("number",), SAID), _last(AuthorizationStateRecord, ("on", "pk"), ("state",))
    faults, walked = [], _Walk(Authorization.objects.order_by("pk"))
    for paper in walked:
        for kind, said, names in (("version", versions, SAID), ("state", states, ("state",))):
            last = said.get(paper.pk)
            if last is None:
                faults.append(f"paper {paper.code}: it has no {kind} in its history")
                continue
            faults += [
                f"paper {paper.code}, {name.replace('_', ' ')}: the paper has {getattr(paper, name)!s}, its last {kind} {value!s}"
                for name, value in zip(names, last, strict=True)
                if getattr(paper, name) != value
            ]
    return Check("Versions and states of papers", amount_words(walked.count, "papers"), faults)


def _last(model, order, names):
    """{paper key: values of its last record}."""
    rows = model.objects.order_by(*order).values_list("authorization", *names)
    return {paper: tuple(values) for paper, *values in rows.iterator(chunk_size=_CHUNK)}


def check_rules():
    """What every rule says of its verification against the last one on file."""
    rows = RuleVerification.objects.in_effect().order_by("verified_on", "pk").values_list("requirement", *_VERIFIED)
    last = {rule: tuple(values) for rule, *values in rows.iterator(chunk_size=_CHUNK)}
    faults, walked = [], _Walk(Requirement.objects.order_by("pk"))
    for rule in walked:
        said = tuple(getattr(rule, name) for name in _VERIFIED)
        expected = last.get(rule.pk)
        if expected is None and rule.verified_on:
            faults.append(f"rule {rule.code}, edition {rule.edition}: it says that it is verified, and no verification is on file")
        elif expected and said != expected:
            faults.append(f"rule {rule.code}, edition {rule.edition}: what it says of its verification is not the last one on file")
    return Check("Verifications of rules", amount_words(walked.count, "rules"), faults)


def check_states():
    """What must stay true of accounts, links, pedigree, lots, shipments, sites, plantings and trees, against the last state."""
    seen, faults = state_faults()
    return Check("Accounts, links, pedigree, lots, shipments and plantings", seen, faults)


def check_identity():
    """The marks of open questions of identity against the rule."""
    checked, differences = spread_differences()
    faults = [f"{what}: stored {stored}; by the rule {fresh}" for what, stored, fresh in differences]
    return Check("Marks of open questions of identity", amount_words(checked, "questions"), faults)


CHECKS = [
    check_triggers,
    check_chain,
    check_records,
    check_files,
    check_answers,
    check_draws,
    check_papers,
    check_rules,
    check_states,
    check_identity,
]
SUMMED = set()  # types stored by the thousand; the trail has sums of their hashes


def also_checked(check):
    """Called once by an app that adds a check of its own."""
    CHECKS.append(check)


def summed_by(model, check):
    """Called once by an app that stores a type of record by the thousand and proves it by a check of its own."""
    SUMMED.add(model)
    CHECKS.append(check)
