"""Names that can be read and mean nothing, or something else than their writer means, are told in words."""

import pytest

from registry.compliance.gate.places import NO
from registry.compliance.shared.name_faults import means_nothing, name_fault
from registry.compliance.shared.taxa import named

# how orders and records write them: common practice, no source
_SILENT = [
    "Juglans and Carya",
    "Juglans or Carya",
    "Juglans all species",
    "Juglans (all species)",
    "all species of Juglans",
    "genus Juglans",
    "Juglans (walnut)",
    "Juglans seed",
    "Juglans unknown",
    "butternut (Juglans cinerea)",
    "Juglandaceae",
]


@pytest.mark.parametrize("written", _SILENT)
def test_a_name_that_would_take_nothing_in_is_told(written):
    assert named([written], ["Juglans cinerea"]) == NO  # a rule that has it would be silent
    assert f"“{written}”" in name_fault(written) and means_nothing(written)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("Juglans cinerea × unknown", "“unknown” is not part of a name"),
        ("Juglans cinerea (butternut)", "“(butternut)” is not part of a name"),
        ("Juglans cinerea seedlings", "“seedlings” is not part of a name"),
        ("Juglans spp. except J. nigra", "a name cannot leave anything out (“except”)"),
        ("juglans cinerea x juglans ailantifolia", "write each genus with a capital letter"),
        ("JUGLANS REGIA × CARYA OVATA", "write each genus with a capital letter"),
        ("Juglans regia × (cinerea × ailantifolia)", "write each parent with its genus, such as J. cinerea"),
        ("Juglans (cinerea × ailantifolia) × cinerea", "write each parent with its genus, such as J. ailantifolia"),
        ("J. cinerea", "is not a name of a taxon"),
        ("Juglans xbixbyi", "write the sign of a hybrid, ×bixbyi"),
        ("Jugl\u0430ns cinerea", "“\u0430” is not a Latin letter"),  # U+0430 looks like the letter a
    ],
)
def test_a_name_that_says_something_else_is_told(written, words):
    assert words in name_fault(written)


@pytest.mark.parametrize(
    "written",
    [
        "Juglans",
        "Juglans spp.",
        "Juglans L.",
        "JUGLANS",
        "juglans cinerea",
        "Juglans cinerea L.",
        "Juglans ailantifolia var. cordiformis (Makino) Rehder",
        "Juglans hindsii (Jeps.) Jeps. ex R.E.Sm.",
        "Juglans ×bixbyi",
        "juglans cinerea x ailantifolia",
        "Juglans cinerea × J. ailantifolia",
        "(Juglans cinerea × J. ailantifolia) × J. cinerea",
        "Juglans ×bixbyi × J. cinerea",
        "Juglans ×bixbyi (cinerea × ailantifolia)",
        "×Carylans (Carya × Juglans)",
        "Juglans cinerea hybrid",
        "Juglans cinerea ‘Ayers’",
        "Ximenia xylocarpa",
        "Juglans xanthocarpa Carrière",
    ],
)
def test_a_name_that_says_what_it_means_has_no_fault(written):
    assert name_fault(written) == ""


def test_what_cannot_be_read_is_unknown_and_not_silent():
    assert name_fault("12") and not means_nothing("12")
    assert named(["12"], ["Juglans cinerea"]) != NO
