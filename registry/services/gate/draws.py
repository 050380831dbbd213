"""What counts against the caps of papers: what leaves or is planted, what is given back, what was used before these records began."""

from django.core.exceptions import ValidationError
from django.db.models import Min, Sum
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import DrawKind
from registry.models import Authorization, AuthorizationDraw
from registry.selectors.permits.as_of import version_on
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["cap_on", "draw", "draw_opening", "draw_return"]

EARLIER_USE = "before these records began"


def cap_on(paper, on):
    """(cap or None, its unit) as the paper says on a day; an amendment that begins later does not count before that."""
    said = version_on(paper.versions.all(), on)
    return (said.cap_quantity, said.cap_unit) if said else (None, "")


@write
def draw(*, actor, paper, kind, lot, quantity, on, subject, reason="", beyond=False):
    """Count a quantity against the cap of a paper.

    What would go over the cap of that day is refused, unless `beyond`: then it has happened already, or by an override, and is
    counted anyway, so that the paper shows by how much it is overdrawn. A negative quantity gives back.
    """
    paper = Authorization.objects.select_for_update().get(pk=paper.pk)
    drawn = paper.drawn + quantity
    cap, unit = cap_on(paper, on)
    if cap is not None and drawn > cap and quantity > 0 and not beyond:
        left = max(0, cap - paper.drawn)
        raise ValidationError(f"Paper {paper.code} has {left:,} of {cap:,} {unit} left. This needs {quantity:,}.")
    entry = AuthorizationDraw(
        authorization=paper, kind=kind, lot=lot, quantity=quantity, on=on, subject=subject, reason=reason, entered_by=actor,
        entered_at=timezone.now(),
    )  # fmt: skip
    entry.full_clean()
    append_row(entry)
    changes = {"drawn": [paper.drawn, drawn], "by": [None, subject]}
    # the row is locked; the figure that was read is checked once more, in the database
    if not Authorization.objects.filter(pk=paper.pk, drawn=paper.drawn).update(drawn=drawn):
        raise ValidationError(f"Someone else just drew on paper {paper.code}. Try again.")
    paper.drawn = drawn
    audit_record(actor=actor, verb="authorization.drawn", obj=paper, changes=changes, reason=reason)
    return entry


@write
def draw_return(*, actor, paper, lot, quantity, on, subject, reason):
    """Give back to the cap what a lot drew for a shipment or planting and did not use, such as a box that came back."""
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is given back, and where the paper says that this may be done."})
    paper = Authorization.objects.select_for_update().get(pk=paper.pk)
    drawn = paper.draws.filter(lot=lot, subject=subject).aggregate(n=Sum("quantity"), first=Min("on"))
    if drawn["first"] is None:
        known = sorted(set(paper.draws.filter(lot=lot).values_list("subject", flat=True)))
        said = f"It was drawn for {', '.join(known)}." if known else f"Lot {lot.code} has never drawn on {paper.code}."
        raise ValidationError({"subject": f"Nothing of lot {lot.code} was drawn from {paper.code} for “{subject}”. {said}"})
    if quantity > drawn["n"]:
        raise ValidationError({"quantity": f"{drawn['n']:,} of lot {lot.code} are drawn for {subject}. No more can be given back."})
    if on < drawn["first"]:
        raise ValidationError({"on": f"It was drawn on {day_words(drawn['first'])}. It cannot be given back before that day."})
    return draw(actor=actor, paper=paper, kind=DrawKind.RETURNED, lot=lot, quantity=-quantity, on=on, subject=subject, reason=reason)


@write
def draw_opening(*, actor, paper, quantity, on, reason):
    """Count what was used of a cap before these records began, of no lot on file."""
    if not reason.strip():
        raise ValidationError({"reason": "Say where the figure comes from."})
    if cap_on(paper, on)[0] is None:
        raise ValidationError({"on": f"On {day_words(on)} the paper had no cap to count against."})
    return draw(
        actor=actor, paper=paper, kind=DrawKind.OPENING, lot=None, quantity=quantity, on=on, subject=EARLIER_USE, reason=reason,
        beyond=True,
    )  # fmt: skip
