from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from registry import choices
from registry.access import roles
from registry.access.scoping import READERS, ScopedQuerySet
from registry.calc.shared.screen import day_words
from registry.models.lots import Lot
from registry.models.partners import Partner
from registry.models.permits import Authorization
from registry.models.shared.check_constraints import CheckConstraint, UniqueConstraint


class ShipmentQuerySet(ScopedQuerySet):
    def for_list(self):
        # the sum is a query of its own: a join to two receipts would count every line twice
        lines = ShipmentLine.objects.filter(shipment=models.OuterRef("pk")).order_by().values("shipment")
        quantity = models.Subquery(lines.annotate(total=models.Sum("quantity")).values("total"))
        in_effect = Q(receipts__taken_back_at__isnull=True)
        counted = self.select_related("receiver").annotate(quantity=quantity, receipts_count=models.Count("receipts", filter=in_effect))
        return counted.order_by(F("dispatched_on").desc(nulls_first=True), "-code")

    def unreceived(self):
        received = Receipt.objects.in_effect().filter(shipment=models.OuterRef("pk"))
        return self.filter(~models.Exists(received), state=choices.ShipmentState.DISPATCHED)


class Shipment(models.Model):
    """Seeds or plants that go to a partner; its lines say which lots, and the ledgers of those are drawn down when it leaves."""

    code = models.CharField(max_length=40, unique=True)
    receiver = models.ForeignKey(Partner, on_delete=models.PROTECT, related_name="shipments")
    state = models.CharField(max_length=10, choices=choices.shipment_states, default=choices.ShipmentState.DRAFT, editable=False)
    planned_on = models.DateField(null=True, blank=True)
    dispatched_on = models.DateField(null=True, blank=True)
    receiving_person = models.CharField("person who receives it", max_length=120, blank=True)
    site_code = models.CharField("for the site", max_length=40, blank=True, help_text="Code of the site, if it is meant for one.")
    origin_region = models.CharField(
        "leaves from (ISO 3166)", max_length=80, blank=True, help_text="Such as US-VT, or US-VT/Chittenden with its county."
    )
    transit_regions = models.JSONField("by way of (ISO 3166)", default=list, blank=True)
    arrives_on = models.DateField("expected to arrive on", null=True, blank=True)
    done_by = models.JSONField("who sends it", default=list, blank=True)
    carrier = models.CharField(max_length=80, blank=True)
    handling = models.CharField(max_length=200, blank=True, help_text="printed on the box, such as KEEP 1–4 °C, DO NOT FREEZE")
    authorizations = models.ManyToManyField(Authorization, blank=True, related_name="shipments")
    note = models.TextField(blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "receiver"}
    objects = ShipmentQuerySet.as_manager()

    class Meta:
        ordering = ["-dispatched_on", "code"]
        constraints = [
            CheckConstraint(
                condition=~Q(state=choices.ShipmentState.DISPATCHED) | Q(dispatched_on__isnull=False),
                name="shipment_dispatched_has_date",
            ),
        ]

    def __str__(self):
        return self.code

    def clean(self):
        days_known = self.state == choices.ShipmentState.DRAFT and self.planned_on and self.arrives_on
        if days_known and self.arrives_on < self.planned_on:
            raise ValidationError({"arrives_on": f"It cannot arrive before {day_words(self.planned_on)}, the day it leaves."})


class ShipmentLine(models.Model):
    """How much of one lot is in a shipment, and in what form."""

    shipment = models.ForeignKey(Shipment, on_delete=models.CASCADE, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="shipment_lines")
    form = models.CharField(max_length=10, choices=choices.material_forms)
    quantity = models.PositiveIntegerField()
    draw_on = models.JSONField("goes under the papers", default=list, blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "shipment__receiver"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["shipment", "lot"]
        constraints = [
            models.UniqueConstraint(fields=["shipment", "lot", "form"], name="shipmentline_once"),
            CheckConstraint(condition=Q(quantity__gt=0), name="shipmentline_quantity_positive"),
        ]

    def __str__(self):
        return f"{self.shipment} {self.lot} × {self.quantity}"


class TakenBackQuerySet(ScopedQuerySet):
    def in_effect(self):
        """Without those that were taken back: they count nowhere."""
        return self.filter(taken_back_at__isnull=True)


class TakenBack(models.Model):
    """A record that can be taken back when it was entered by mistake: it stays on file with who, when and why."""

    taken_back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, editable=False, related_name="+"
    )
    taken_back_at = models.DateTimeField(null=True, blank=True, editable=False)
    taken_back_reason = models.CharField(max_length=200, blank=True, editable=False)

    objects = TakenBackQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [
            CheckConstraint(
                condition=Q(taken_back_by__isnull=True, taken_back_at__isnull=True, taken_back_reason="")
                | Q(taken_back_by__isnull=False, taken_back_at__isnull=False) & ~Q(taken_back_reason=""),
                name="%(class)s_taken_back_whole",
            ),
        ]


class Receipt(TakenBack):
    """What the receiver found: a record of its own, made by the receiver. One entered by mistake is taken back and stays on file."""

    shipment = models.ForeignKey(Shipment, on_delete=models.PROTECT, related_name="receipts")
    received_on = models.DateField()
    received_by = models.CharField(max_length=120)
    box_condition = models.CharField(max_length=10, choices=choices.box_conditions)
    temperature_c = models.FloatField("temperature in the box (°C)", null=True, blank=True)
    note = models.TextField(blank=True)
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()

    SCOPE = READERS | {roles.LANDOWNER: "shipment__receiver"}

    class Meta(TakenBack.Meta):
        abstract = False
        ordering = ["-received_on", "id"]
        constraints = [
            UniqueConstraint(
                fields=["shipment", "received_on"],
                condition=Q(taken_back_at__isnull=True),
                name="receipt_once_a_day",
                violation_error_message="A receipt of this day is already on file for this shipment. Take it back first if it is wrong.",
            ),
            *TakenBack.Meta.constraints,
        ]

    def __str__(self):
        return f"receipt of {self.shipment} on {self.received_on}"


class ReceiptLineQuerySet(ScopedQuerySet):
    def in_effect(self):
        """Of receipts that were not taken back: every count of what arrived starts here."""
        return self.filter(receipt__taken_back_at__isnull=True)


class ReceiptLine(models.Model):
    """What of one line of a shipment arrived: sound, sprouted, spoiled. The rest is short."""

    receipt = models.ForeignKey(Receipt, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(ShipmentLine, on_delete=models.PROTECT, related_name="receipt_lines")
    sound = models.PositiveIntegerField(default=0)
    sprouted = models.PositiveIntegerField(default=0)
    spoiled = models.PositiveIntegerField(default=0)

    SCOPE = READERS | {roles.LANDOWNER: "receipt__shipment__receiver"}
    objects = ReceiptLineQuerySet.as_manager()

    class Meta:
        ordering = ["receipt", "line"]
        constraints = [models.UniqueConstraint(fields=["receipt", "line"], name="receiptline_once")]

    def __str__(self):
        return f"{self.line}: {self.received} received"

    @property
    def received(self):
        return self.sound + self.sprouted + self.spoiled

    @property
    def usable(self):
        return self.sound + self.sprouted


class Leftover(TakenBack):
    """What was received and not planted: returned, destroyed or still held. Unknown plantings start here."""

    line = models.ForeignKey(ShipmentLine, on_delete=models.PROTECT, related_name="leftovers")
    outcome = models.CharField(max_length=10, choices=choices.leftover_outcomes)
    count = models.PositiveIntegerField()
    on = models.DateField()
    note = models.TextField(blank=True)
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()

    SCOPE = READERS | {roles.LANDOWNER: "line__shipment__receiver"}

    class Meta(TakenBack.Meta):
        abstract = False
        ordering = ["-on", "id"]
        constraints = [
            CheckConstraint(condition=Q(count__gt=0), name="leftover_count_positive"),
            UniqueConstraint(
                fields=["line", "outcome", "on"],
                condition=Q(taken_back_at__isnull=True),
                name="leftover_once_a_day",
                violation_error_message="A leftover of this day with this outcome is already on file. Take it back first if it is wrong.",
            ),
            *TakenBack.Meta.constraints,
        ]

    def __str__(self):
        return f"{self.count} {self.get_outcome_display()} of {self.line}"
