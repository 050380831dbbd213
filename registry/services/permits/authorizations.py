"""Papers: what they say is stored in dated versions, their states as a dated history. Nothing is overwritten."""

import datetime
import hashlib

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import AuthorizationState
from registry.models import Authorization, AuthorizationStateRecord, AuthorizationVersion, PaperDocument
from registry.selectors.permits.as_of import SAID, last_state, last_version, state_on, version_on
from registry.selectors.permits.covers import LIMITS
from registry.selectors.permits.documents import file_fault
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.permits.documents import file_keep
from registry.services.shared.past_day import day_check
from registry.services.shared.records import record_save

__all__ = [
    "BEFORE_ALL", "authorization_save", "authorization_state_enter", "authorization_state_set", "authorization_version_enter",
    "document_add",
]  # fmt: skip

_AFTER_FORCE = (AuthorizationState.SUSPENDED, AuthorizationState.EXPIRED, AuthorizationState.CLOSED)
BEFORE_ALL = datetime.date(1900, 1, 1)  # a paper without a date is corrected from its beginning


@write
def authorization_save(*, actor, paper, limits=None, from_on=None, reason="", state=None):
    """Store a paper. A change in what it says becomes its next version, a new state the next entry of its history.

    Parameters
    ----------
    actor : Person
    paper : Authorization, new or changed
    limits : dict of {name in LIMITS: list of codes}, optional
        What it covers. What is left out stays as in the last version.
    from_on : date, optional
        From when an amendment holds. Left out, it corrects the last version from the day that one began.
    reason : str
        What was amended and why; needed once the paper has a version.
    state : str, optional
        The state it is in today. Left out, a state changed on the record counts; one that is announced stays announced.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field: an amendment without a reason, one that begins before the version it amends, a cap below what is drawn.
    """
    last, is_new = None, paper.pk is None
    if paper.verified_on:
        day_check(verified_on=paper.verified_on)
    if not is_new:
        # the row lock lines up two people who amend at once, so that they do not take the same number
        stored = Authorization.objects.select_for_update().get(pk=paper.pk)
        last = last_version(paper.versions.all())
        lowered = paper.cap_quantity is not None and (stored.cap_quantity is None or paper.cap_quantity < stored.cap_quantity)
        if lowered and paper.cap_quantity < stored.drawn:
            raise ValidationError(
                {"cap_quantity": f"{stored.drawn:,} {stored.cap_unit} are drawn already. The cap cannot be lower than that."}
            )
        units = {version.cap_unit for version in paper.versions.all() if version.cap_quantity is not None}
        if stored.drawn and paper.cap_quantity is not None and units and paper.cap_unit not in units:
            words = " or ".join(sorted(units))
            raise ValidationError({"cap_unit": f"{stored.drawn:,} are drawn already, counted in {words}. The unit stays {words}."})
        paper.drawn = stored.drawn
        _restate(actor, paper, stored, state, reason)
        record_save(actor=actor, obj=paper, reason=reason)
    else:
        paper.full_clean()
        paper.save()
    says = {name: getattr(paper, name) for name in SAID} | _limits(last) | (limits or {})
    if last is None or says != _said(last):
        _version_add(actor, paper, last, says, from_on, reason)
    if not paper.state_history.exists():
        for state, on in _first_states(paper, timezone.localdate()):
            _state_add(actor, paper, state, on, reason)
    if is_new:
        audit_record(actor=actor, verb="authorization.added", obj=paper)
    return paper


def _restate(actor, paper, stored, state, reason):
    """The next state record when a save states another state than that of today; the paper repeats the last one by day."""
    history, today = list(stored.state_history.all()), timezone.localdate()
    if not history or (state is None and paper.state == stored.state):
        return
    now, last, wanted = state_on(history, today), last_state(history), state or paper.state
    if wanted == (now or last).state:
        paper.state = last.state
        return
    on = max(today, now.on) if now else today
    paper.state = last.state if last.on > on else wanted
    _state_add(actor, paper, wanted, on, reason)
    if paper.state == stored.state:  # a later state stays announced, so that the record itself does not change
        changes = {"state": [now.state if now else None, wanted], "on": [None, on.isoformat()]}
        audit_record(actor=actor, verb="authorization.state", obj=paper, changes=changes, reason=reason)


@write
def authorization_state_set(*, actor, paper, state, on, reason=""):
    """From `on` the paper is in `state`. A day before the present state began is refused: the history is written forward.

    A future day announces the state. What is announced for a later day stays; another state for that same day replaces it.
    """
    paper = Authorization.objects.select_for_update().get(pk=paper.pk)
    history = list(paper.state_history.all())
    now, then, last = state_on(history, timezone.localdate()), state_on(history, on), last_state(history)
    if now and on < now.on:
        raise ValidationError({"on": f"It is {now.get_state_display()} from {day_words(now.on)}. Give that day or a later one."})
    if then and then.state == state:
        raise ValidationError({"state": f"It is {then.get_state_display()} already, from {day_words(then.on)}."})
    before = then.state if then else None
    paper.state = state if last is None or last.on <= on else last.state
    paper.full_clean()
    paper.save()
    record = _state_add(actor, paper, state, on, reason)
    changes = {"state": [before, state], "on": [None, on.isoformat()]}
    audit_record(actor=actor, verb="authorization.state", obj=paper, changes=changes, reason=reason)
    return record


@write
def document_add(*, actor, paper, content, filename, title, dated=None):
    """Store a document of a paper. A newer document is added beside the older.

    The same content twice is refused, unless the stored file was damaged or gone: then it is whole again.
    """
    if dated:
        day_check(dated=dated)
    earlier = paper.documents.filter(file__sha256=hashlib.sha256(content).hexdigest()).select_related("file").first()
    fault = file_fault(earlier.file) if earlier else ""
    file = file_keep(actor=actor, content=content, filename=filename)
    if earlier and fault:
        return earlier
    if earlier:
        raise ValidationError({"file": f"This paper already has {filename}: the files are identical."})
    document = PaperDocument(authorization=paper, file=file, title=title, dated=dated, entered_by=actor, entered_at=timezone.now())
    document.full_clean()
    append_row(document)
    changes = {"document": [None, title], "sha256": [None, file.sha256]}
    audit_record(actor=actor, verb="authorization.document", obj=paper, changes=changes)
    return document


def _first_states(paper, today):
    """[(state, day)] with which the history of a paper begins. One that is over or suspended was in force from its start: the past is
    read as it was, and states between have a sheet of their own."""
    starts, ends = paper.starts_on, paper.ends_on
    if paper.state not in _AFTER_FORCE or starts is None or starts >= today:
        return [(paper.state, starts or today)]
    if ends is None or ends >= today or paper.state == AuthorizationState.SUSPENDED:
        return [(AuthorizationState.IN_FORCE, starts), (paper.state, today)]
    return [(AuthorizationState.IN_FORCE, starts), (paper.state, ends + datetime.timedelta(days=1))]


@write
def authorization_state_enter(*, actor, paper, state, on, reason=""):
    """Enter a state from its day on, into the past too: an old history that is only now written down.

    The paper itself repeats the last state by day.
    """
    paper = Authorization.objects.select_for_update().get(pk=paper.pk)
    same_day = [record for record in paper.state_history.all() if record.on == on]
    if same_day and last_state(same_day).state == state:
        raise ValidationError({"state": f"It is {last_state(same_day).get_state_display()} from that day already."})
    record = _state_add(actor, paper, state, on, reason)
    last = last_state(paper.state_history.all())
    if paper.state != last.state:
        paper.state = last.state
        paper.save(update_fields=["state"])
    changes = {"state": [None, state], "on": [None, on.isoformat()]}
    audit_record(actor=actor, verb="authorization.state", obj=paper, changes=changes, reason=reason)
    return record


@write
def authorization_version_enter(*, actor, paper, says, from_on, reason=""):
    """Enter all that a paper said from a day on, into the past too.

    `says` has the names in `SAID` and `LIMITS`; what is left out sets no limit. Returns the new version, or the one that says so already.
    """
    paper = Authorization.objects.select_for_update().get(pk=paper.pk)
    says = dict.fromkeys(("starts_on", "ends_on", "cap_quantity")) | {"covers": "", "conditions": "", "cap_unit": ""} | _limits(None) | says
    now = version_on(paper.versions.all(), from_on)
    if now and _said(now) == says:
        return now
    if not reason.strip():
        raise ValidationError({"reason": "Say what this version is taken from, such as the amendment with its date."})
    version = AuthorizationVersion(
        authorization=paper, number=_next_number(paper), from_on=from_on, reason=reason[:200], entered_by=actor,
        entered_at=timezone.now(), **says,
    )  # fmt: skip
    version.full_clean()
    append_row(version)
    _repeat_last_version(paper)
    changes = {"version": [None, version.number], "from_on": [None, from_on.isoformat()]}
    audit_record(actor=actor, verb="authorization.amended", obj=paper, changes=changes, reason=reason)
    return version


def _next_number(paper):
    return paper.versions.count()


def _repeat_last_version(paper):
    """The paper itself repeats the version that holds last."""
    last = last_version(paper.versions.all())
    for name in SAID:
        setattr(paper, name, getattr(last, name))
    paper.full_clean()
    paper.save(update_fields=list(SAID))


def _limits(version):
    return {name: getattr(version, name) if version else [] for name in LIMITS}


def _said(version):
    return {name: getattr(version, name) for name in (*SAID, *LIMITS)}


def _version_add(actor, paper, last, says, from_on, reason):
    if last is not None and not reason.strip():
        raise ValidationError({"reason": "Say what was amended and why. What the paper said before stays on file."})
    if last is not None and from_on and last.from_on and from_on < last.from_on:
        day = day_words(last.from_on)
        raise ValidationError({"from_on": f"The previous version is in effect from {day}. An amendment begins on that day or later."})
    begins = None if last is None else from_on or last.from_on or _beginning(last, paper)
    version = AuthorizationVersion(
        authorization=paper, number=_next_number(paper), from_on=begins, reason=reason[:200] if last else "",
        entered_by=actor, entered_at=timezone.now(), **says,
    )  # fmt: skip
    version.full_clean()
    append_row(version)
    if last is not None:
        changes = {name: [_json_value(getattr(last, name)), _json_value(says[name])] for name in says if getattr(last, name) != says[name]}
        audit_record(actor=actor, verb="authorization.amended", obj=paper, changes=changes, reason=reason)
    return version


def _json_value(value):
    return value.isoformat() if isinstance(value, datetime.date) else value


def _beginning(version, paper):
    """From when a correction of the first version holds: from before either of its beginnings."""
    return min(filter(None, (version.starts_on, paper.starts_on)), default=BEFORE_ALL)


def _state_add(actor, paper, state, on, reason):
    record = AuthorizationStateRecord(
        authorization=paper, state=state, on=on, reason=reason[:200], entered_by=actor, entered_at=timezone.now()
    )
    record.full_clean()
    append_row(record)
    return record
