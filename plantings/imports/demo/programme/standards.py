"""What the programme goes by: handbook rows of its own, its settings."""

from plantings.imports.demo.programme.description import DESCRIPTION
from plantings.imports.demo.programme.people import NAMES

# figures of our own: no bath is known to be usual for these nuts
_BATH = {
    "bath_c_low": 44, "bath_c_high": 46, "bath_minutes": 30, "bath_against": "nut curculio",
    "bath_source": "example, invented for this demo",
}  # fmt: skip
_OWN = [
    {
        "binomial": "Juglans ×bixbyi", "source": "example, invented: taken over from butternut and from lots of this programme",
        "seeds_per_kg_low": 66, "seeds_per_kg_mean": 80, "seeds_per_kg_high": 100, "cold_days_low": 90, "cold_days_high": 120,
        "cold_temperature": "1-5", "test_temperature": "30/20", "storage_class": "intermediate", "use_by_month": 6, "use_by_day": 30,
        "fruit": "nuts in the husk", "note": "example only; no handbook is known to have the hybrid",
    },
    {
        "binomial": "Juglans cinerea", "source": "example, invented: what this programme does beside the handbook",
        "fruit": "nuts in the husk", "note": "example only",
    },
]  # fmt: skip


def handbook():
    """Rows beside those of the handbook of the species that is shipped."""
    return [row | _BATH for row in _OWN]


def settings():
    chosen = DESCRIPTION["programme"] | DESCRIPTION["thresholds"]
    owner = NAMES["ines.calderwood"]
    return [
        {"setting": key, "value": value, "owner": owner, "set_on": "2018-01-15", "basis": "example, set for this demo"}
        for key, value in chosen.items()
    ]
