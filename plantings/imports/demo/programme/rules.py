"""A few invented classes and rules, so that there is something to ask the demo's papers about. None of them is law."""

_SOURCE = "example, invented for this demo"
_ASK = "Example only. Check with the local authority."


def material_classes():
    return [
        {"code": "ex-donor", "title_text": "Descends from Japanese walnut (example)", "rule": "donor_ancestry", "source": _SOURCE,
         "is_example": "yes"},
        {"code": "ex-host", "title_text": "Host of walnut diseases (example)", "rule": "taxon", "taxa": "Juglans", "source": _SOURCE,
         "is_example": "yes"},
    ]  # fmt: skip


def rules():
    return [
        _rule(
            "EX-RULE-WI", "Walnut-family plants from outside the state", "dispatch", "ex-host", "outside US-WI", "US-WI", "permit", "yes"
        ),
        _rule(
            "EX-RULE-MI", "Regulated host plants from outside the state", "dispatch", "ex-host", "outside US-MI", "US-MI", "permit", "yes"
        ),
        _rule("EX-RULE-PA", "Test plantings of hybrids", "establish", "ex-donor", "", "US-PA", "notification or permit"),
    ]


def _rule(code, title, activity, material, origins, destinations, papers, blocking="no"):
    return {
        "code": code, "edition": "2020", "title_text": f"{title} (example, not law)", "text": _ASK, "activities": activity,
        "classes": material, "origins": origins, "destinations": destinations, "from_on": "2020-01-01",
        "any_of": papers, "blocking": blocking,
        "source": _SOURCE, "is_example": "yes",
    }  # fmt: skip


def verifications():
    """Asked about once, long ago: the day to ask again has passed."""
    return [
        {"rule": "EX-RULE-PA", "edition": "2020", "verified_on": "2021-02-10", "verified_with": "Example plant office, an invented clerk",
         "verified_by": "I. Calderwood", "review_by": "2022-02-10"},
    ]  # fmt: skip
