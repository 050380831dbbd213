"""The cautions of tasks that can hurt people or spread the disease. The holder of the permit or licence and the authority decide."""

from django.utils import timezone

from registry.choices import CautionTask
from registry.selectors.safety.cautions import cautions_for, programme_rules

__all__ = ["task_cautions"]

# Shown whatever the programme wrote itself (common practice, no source): title, lines, who decides.
_USUAL = {
    CautionTask.INOCULATION: (
        "Inoculation and rating",
        (
            "The strains are live plant pests. Work only where the permit says, and carry the permit with you.",
            "70 % alcohol burns with a flame that is hard to see in daylight. Close the bottle; keep it away from flames and hot tools.",
            "Disinfect tools and gloves between trees. Take cankered wood and bark off the site only as the permit says.",
        ),
        "the holder of the pathogen permit, under the local authority",
    ),
    CautionTask.PESTICIDE: (
        "Pesticide and herbicide",
        (
            "The label is law. Check first: licence, protective clothing, weather, distance to water, posted re-entry time.",
            "Volunteers do not mix or spray.",
        ),
        "the licensed applicator, under the local authority",
    ),
}


def task_cautions(task):
    """The usual cautions of a task with the programme's own rules, then those the programme wrote for this task and season."""
    title, lines, decider = _USUAL[task]
    usual = {"title": title, "lines": [*lines, *programme_rules({task})], "decider": decider}
    own = cautions_for([task], timezone.localdate())
    return [usual, *({"title": caution.hazard, "text": caution.text, "decider": caution.decider} for caution in own)]
