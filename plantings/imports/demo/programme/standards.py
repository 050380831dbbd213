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


# what the census of this programme asks for besides what every programme can measure; an example, invented
MEASUREMENTS = (
    {
        "code": "crown_vigour", "version": 1, "name": "Crown vigour", "from_season": 3, "name_fr": "Vigueur de la cime",
        "classes": "0 = hardly any live crown; 1 = thin; 2 = fair; 3 = full",
        "taken": "Live leaves of the whole crown, seen from the south.",
        "taken_fr": "Feuilles vivantes de toute la cime, vues du sud.",
        "classes_fr": "0 = presque plus de cime vivante; 1 = clairsemée; 2 = moyenne; 3 = pleine",
    },
)  # fmt: skip
PROTOCOL, PROTOCOL_FROM = "forest version 1", "2025"


def measurements():
    return [dict(row) for row in MEASUREMENTS]


def protocols():
    asks = "height; diameter; diameter_at; canker; browse; dieback; flowering; crown_vigour_v1"
    code, _, version = PROTOCOL.rpartition(" version ")
    about = "Two people: one looks and calls, one writes. The taller of two stems counts."
    return [{"code": code, "version": version, "asks": asks, "about_text": about}]


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
