"""Leftovers on the pages of shipments and lots, and the form that takes one back."""

from django.utils.translation import gettext_lazy as _

from registry.calc.shared.screen import day_words
from registry.choices import LeftoverOutcome
from registry.forms.movements.shipments import TakeBackForm
from registry.models import Leftover
from registry.selectors.shared.local_units import local_unit
from registry.selectors.shared.local_words import local_day
from registry.services.movements.taking_back import leftover_take_back
from registry.views.shared.addresses import reverse_to
from registry.views.shared.forms import RecordActionView
from registry.views.shared.sections import Section
from registry.views.shared.tables import Column, Link

# on the page of a shipment, beside each of its lines
ENTER_LEFTOVER = Column("Left over", lambda _balance: "enter", url=Link("leftover_add", "line.pk"), may="leftover.enter")


def leftovers_of(page):
    """The leftovers of a shipment that the person may see."""
    return list(page.scoped(Leftover).filter(line__shipment=page.object).select_related("line__lot", "taken_back_by"))


def taken_back_words(record):
    """By whom, when and why a receipt or a leftover was taken back; "" for one in effect."""
    if not record.taken_back_at:
        return ""
    words = {"who": record.taken_back_by, "day": local_day(record.taken_back_at), "reason": record.taken_back_reason}
    return _("by %(who)s, %(day)s: %(reason)s") % words


def taken_back_note(record):
    """The note of a receipt or a leftover, or that it was taken back."""
    return _("Taken back %(words)s") % {"words": taken_back_words(record)} if record.taken_back_at else record.note


def soft_if_taken_back(record):
    return "soft" if record.taken_back_at else ""


def take_back_columns(leftovers):
    """The column that leads to taking a leftover back, where there is one to take back."""
    if all(leftover.taken_back_at for leftover in leftovers):
        return ()
    return (
        Column(
            "Correct",
            lambda leftover: "" if leftover.taken_back_at else "take it back",
            url=lambda leftover: None if leftover.taken_back_at else reverse_to("leftover_take_back", leftover.pk),
            may="leftover.enter",
        ),
    )


LEFTOVERS_OF_SHIPMENT = Section(
    title=_("Leftovers"),
    unit="leftovers",
    note=_("What was received and not planted. What came back is in the ledger of its lot again."),
    rows=lambda page: page.leftovers,
    columns=lambda _page, leftovers: (
        Column(_("On"), "on", kind="date"),
        Column(_("Lot"), "line.lot.code", kind="code", url=Link("lot_detail", "line.lot_id", "lot.view")),
        Column(_("Outcome"), "get_outcome_display"),
        Column(_("How many"), "count", "right", "number"),
        Column(_("Counted in"), lambda leftover: local_unit(2, leftover.line.lot.unit)),
        Column(_("Note"), taken_back_note, wide=True),
        *take_back_columns(leftovers),
    ),
    mark=soft_if_taken_back,
)


class LeftoverTakeBackView(RecordActionView):
    model = Leftover
    action = "leftover.enter"
    form_class = TakeBackForm
    confirm = True
    title = "Take back the leftover of {object.line.lot.code} in {object.line.shipment.code}"
    submit_label = "Take the leftover back"
    success_message = "Leftover taken back. It stays on file and counts nowhere."
    service = leftover_take_back
    argument = "leftover"

    back_to = property(lambda page: page.object.line.shipment)

    @property
    def text(self):
        said = f"{self.object.count:,} {self.object.get_outcome_display()}, {day_words(self.object.on)}."
        returned = " They leave the ledger of the lot again." if self.object.outcome == LeftoverOutcome.RETURNED else ""
        return f"{said} For a leftover entered by mistake.{returned} Then enter the right one on the page of the shipment."
