"""The cautions of inoculation and rating, which can hurt people and spread the disease; the permit's holder and the authority decide."""

from django.utils import timezone

from registry.choices import CautionTask, ProgrammeKey
from registry.selectors.cautions import cautions_for
from registry.selectors.programme import setting

__all__ = ["inoculation_cautions"]

PERMIT_DECIDES = "the holder of the pathogen permit, under the local authority"


def inoculation_cautions():
    """The usual cautions (common practice, no source), then those the programme wrote for this task and season."""
    age = setting(ProgrammeKey.YOUNGEST_AGE)
    usual = [
        "The strains are live plant pests. Work only where the permit says, and have the permit on the site.",
        "Alcohol of 70 % burns with a flame that is hard to see by day. Keep it away from flames and hot tools, and close the bottle.",
        "Disinfect tools and gloves between trees. Cankered wood and bark leave the site only as the permit says.",
        f"Nobody under {age} years handles the pathogen, the alcohol or the tools.",
        setting(ProgrammeKey.LONE_WORK),
    ]
    own = cautions_for([CautionTask.INOCULATION], timezone.localdate())
    boxes = [{"title": caution.hazard, "text": caution.text, "decider": caution.decider} for caution in own]
    return [{"title": "Inoculation and rating", "lines": usual, "decider": PERMIT_DECIDES}, *boxes]
