"""How a material class is recognised: the bases of the gate."""

from registry.choices.labels import text_choices
from registry.compliance.gate.classes import BASES

ClassRule = text_choices("ClassRule", BASES)


def class_rules():
    return ClassRule.choices
