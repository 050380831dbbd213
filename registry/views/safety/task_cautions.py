"""The cautions of tasks that can hurt people or spread the disease; a permit's or licence's holder and the authority decide."""

from django.utils import timezone

from registry.choices import CautionTask
from registry.selectors.safety.cautions import cautions_for, programme_rules

__all__ = ["task_cautions"]

# what is usual (common practice, no source) stands whatever the programme wrote itself: title, lines, who decides
_USUAL = {
    CautionTask.INOCULATION: (
        "Inoculation and rating",
        (
            "The strains are live plant pests. Work only where the permit says, and have the permit on the site.",
            "Alcohol of 70 % burns with a flame that is hard to see by day. Keep it away from flames and hot tools, and close the bottle.",
            "Disinfect tools and gloves between trees. Cankered wood and bark leave the site only as the permit says.",
        ),
        "the holder of the pathogen permit, under the local authority",
    ),
    CautionTask.PESTICIDE: (
        "Pesticide and herbicide",
        (
            "The label is law. A licence, protective clothing, the weather, a buffer to water and the posted re-entry come first.",
            "Volunteers neither mix nor spray.",
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
