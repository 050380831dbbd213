"""The gate before a lot is added to an established planting, as before one is established."""

from collections import defaultdict

from django.utils import timezone

from plantings.selectors.gate.facts import drawn_when_shipped, new_lots, planting_lots, planting_question
from registry.choices import DrawKind
from registry.services.gate.determinations import gate_pass, is_past_recording

__all__ = ["additions_pass", "lots_to_ask_about"]


def lots_to_ask_about(planting, planted):
    """{day: [Lot]} of what is new to an established planting; to be called before its entries are made.

    `planted` are (lot, day) pairs; a lot planted on several days counts on the last of them. What was planted
    weeks ago is only recorded: the gate can no longer stop it.
    """
    days = {}
    for lot, day in planted:
        days[lot] = max(day, days[lot]) if lot in days and day else day
    found, today = defaultdict(list), timezone.localdate()
    for lot in new_lots(planting, days):
        if not is_past_recording(days[lot], today):
            found[days[lot]].append(lot)
    return found


def additions_pass(*, actor, planting, lots_by_day, override_reason=""):
    """Ask the gate about lots of `lots_to_ask_about`, once their supply is drawn; what stops is refused with what is missing."""
    for day, lots in sorted(lots_by_day.items()):
        added = [row for row in planting_lots(planting) if row[0] in lots]
        gate_pass(
            actor=actor, question=planting_question(planting, day, added), subject=planting.code, lots={lot.code: lot for lot in lots},
            kind=DrawKind.PLANTED, override_reason=override_reason, already=drawn_when_shipped(planting),
        )  # fmt: skip
