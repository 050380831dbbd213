"""Edits of plantings and rounds, whose order other records depend on."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.choices import PlantingState
from plantings.models import CensusRound, Planting
from plantings.selectors.census.asked import protocol_asks, recorded_besides
from plantings.selectors.gate.facts import drawn_when_shipped, planting_lots, planting_question
from plantings.selectors.sites.local_texts import PLANTING_TEXTS
from plantings.services.census.tallies import tallies_rebuild
from plantings.services.sites import texts_check
from plantings.services.trees import planting_renumber
from registry.choices import DrawKind
from registry.services.audit.write import write
from registry.services.gate.determinations import RECORDING_DAYS, gate_pass, is_past_recording, stores_refusal
from registry.services.shared.records import record_save

__all__ = ["planting_establish", "planting_save", "round_save"]


@write
def planting_save(*, actor, planting, many=None, reason=""):
    """Store a planting; a new walk order numbers its trees again.

    A planting of the last weeks is established by `planting_establish`, which goes through the gate; one that is older
    is only recorded here.
    """
    texts_check(planting, PLANTING_TEXTS)
    before = Planting.objects.filter(pk=planting.pk).values_list("walk", "state", "trees_left_out").first() if planting.pk else None
    was_established = before is not None and before[1] != PlantingState.PLANNED
    is_new = planting.state == PlantingState.ESTABLISHED and not was_established and planting.planted_on
    if is_new and not is_past_recording(planting.planted_on, timezone.localdate()):
        raise ValidationError(
            {
                "state": f"A planting of the last {RECORDING_DAYS} days is saved as planned first. "
                "Then mark it as planted on its own page: the gate checks its papers there."
            }
        )
    planting = record_save(actor=actor, obj=planting, many=many, reason=reason)
    if before is not None and before[0] != planting.walk:
        planting_renumber(planting)
    if before is not None and before[2] != planting.trees_left_out:
        tallies_rebuild(Planting.objects.select_for_update().get(pk=planting.pk))
    return planting


@stores_refusal
def planting_establish(*, actor, planting, on, override_reason=""):
    """A planned planting is in the ground: the gate decides, its answer is stored, and it counts against the caps of papers.

    What was drawn when the material was shipped is not drawn again.
    """
    planting = Planting.objects.select_for_update().select_related("site__partner").get(pk=planting.pk)
    if planting.state != PlantingState.PLANNED:
        raise ValidationError(f"Planting {planting.code} is {planting.get_state_display()}; only a planned one can be established.")
    lots = {lot.code: lot for lot, _form, _count in planting_lots(planting)}
    gate_pass(
        actor=actor, question=planting_question(planting, on), subject=planting.code, lots=lots, kind=DrawKind.PLANTED,
        override_reason=override_reason, already=drawn_when_shipped(planting),
    )  # fmt: skip
    planting.state, planting.planted_on = PlantingState.ESTABLISHED, on
    return record_save(actor=actor, obj=planting, reason=override_reason)


def _refuse_lost(before, census_round):
    asked = protocol_asks(census_round)
    lost = recorded_besides(before, asked) if asked != protocol_asks(before) else ()
    if lost:
        words = f"Records of this round hold {', '.join(lost)}, and with this protocol the round does not ask for it."
        raise ValidationError({"protocol": f"{words} Choose a protocol that asks for it too."})


@write
def round_save(*, actor, census_round, reason=""):
    """Store a round and rebuild the planting's tallies: a round put between two others changes what they say.

    A protocol is also named in words. One that does not ask for what records of the round hold already is refused: those records could
    not be corrected under it.
    """
    before = CensusRound.objects.select_related("protocol").filter(pk=census_round.pk).first()
    if census_round.protocol:
        census_round.protocol_version = str(census_round.protocol)
    elif before and before.protocol and census_round.protocol_version == str(before.protocol):
        census_round.protocol_version = ""
    if before and census_round.growing_seasons is not None:
        _refuse_lost(before, census_round)
    census_round = record_save(actor=actor, obj=census_round, reason=reason)
    tallies_rebuild(Planting.objects.select_for_update().get(pk=census_round.planting_id))
    return census_round
