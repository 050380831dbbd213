"""The gate before a lot is added to an established planting, as before one is established."""

from collections import defaultdict

from django.utils import timezone

from plantings.selectors.gate.facts import drawn_when_shipped, new_lots, planting_lots, planting_question
from registry.calc.shared.part_dates import last_day
from registry.choices import DrawKind
from registry.services.gate.determinations import gate_pass, is_past_recording
from registry.services.shared.past_day import known_day

__all__ = ["additions_pass", "lots_to_ask_about"]

_GATE_NEEDS_DAY = "The gate decides by the day, since papers begin and end on one. Give the day of planting."


def lots_to_ask_about(planting, planted):
    """{day: [Lot]} of what is new to an established planting; to be called before its entries are made.

    `planted` are (lot, day) pairs; a lot planted on several days counts on the last of them. What was planted
    weeks ago is only recorded: the gate can no longer stop it. Of a month or a year its last day decides about that, and what is not
    surely weeks ago needs its day. Raises ValidationError where it has none.
    """
    days = {}
    for lot, day in planted:
        days[lot] = max(day, days[lot], key=last_day) if lot in days and day else day
    found, today = defaultdict(list), timezone.localdate()
    for lot in new_lots(planting, days):
        if not is_past_recording(days[lot], today):
            found[known_day(days[lot], _GATE_NEEDS_DAY, field="planted_on")].append(lot)
    return found


def additions_pass(*, actor, planting, lots_by_day, override_reason=""):
    """Ask the gate about lots of `lots_to_ask_about`, once their supply is drawn; what stops is refused with what is missing."""
    for day, lots in sorted(lots_by_day.items()):
        added = [row for row in planting_lots(planting) if row[0] in lots]
        gate_pass(
            actor=actor, question=planting_question(planting, day, added), subject=planting.code, lots={lot.code: lot for lot in lots},
            kind=DrawKind.PLANTED, override_reason=override_reason, already=drawn_when_shipped(planting),
        )  # fmt: skip
