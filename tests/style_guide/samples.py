"""Invented data for the style guide; no record of any programme is behind it."""

from datetime import date, datetime

from django import forms

from registry.templatetags.parts_drawing import MapTree

_FATES_ON_MAP = "A A D A NF A|A AR A A A NL|D A A PD A A|A A RM SU NV A|A D A A A A"
_FATE_BY_LETTERS = {
    "A": "alive",
    "AR": "resprout",
    "D": "dead",
    "PD": "presumed_dead",
    "NF": "not_found",
    "SU": "unclear",
    "NL": "not_located",
    "NV": "not_visited",
    "RM": "removed",
}


class SampleFilters(forms.Form):
    mother = forms.ChoiceField(label="lots of", required=False, choices=[("", "any mother"), ("KW-03-114", "KW-03-114")])
    year = forms.ChoiceField(label="harvested in", required=False, choices=[("", "any year"), ("2024", "2024"), ("2025", "2025")])
    state = forms.ChoiceField(label="that are", required=False, choices=[("", "in any state"), ("stored", "in store")])


class SampleForm(forms.Form):
    groups = [("What was measured", ("height_cm", "seen_on", "status"))]
    height_cm = forms.IntegerField(label="Height", min_value=1, help_text="Ground on the uphill side to the tip of the tallest live bud.")
    seen_on = forms.DateField(label="Seen on", widget=forms.DateInput(attrs={"type": "date"}))
    status = forms.ChoiceField(
        label="Status", choices=[("A", "alive"), ("D", "dead"), ("NF", "position found, no tree")], widget=forms.RadioSelect
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 3}))
    checked = forms.BooleanField(label="The tag was read, not guessed from the position", required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["height_cm"].unit = "cm"


class SampleKeying(forms.Form):
    status = forms.CharField(label="status", max_length=2, widget=forms.TextInput(attrs={"size": 3}))
    # a number box of the browser drops what it cannot read; a text box keeps it beside its error
    height_cm = forms.IntegerField(
        label="height", min_value=1, required=False, widget=forms.TextInput(attrs={"size": 5, "inputmode": "numeric"})
    )
    note = forms.CharField(label="note", required=False, widget=forms.TextInput(attrs={"size": 28}))


def _chain():
    return [
        {"label": "mother tree", "code": "KW-03-114", "url": "#chain", "note": "B3F2"},
        {"label": "harvest", "code": "KW-03-114/2024", "url": "#chain", "note": "12 Oct 2024"},
        {"label": "seed lot", "code": "L24-0031", "url": "#chain", "note": "240 seeds", "current": True},
        {"label": "shipment", "code": "S25-0007", "url": "#chain", "note": "received"},
        {"label": "planting", "code": "FALLS-2", "url": "#chain", "note": "30 trees"},
    ]


def _figures():
    return {
        "many": {"alive": 124, "n": 180, "share": 0.6889, "low": 0.618, "high": 0.752, "band_low": 0.6889, "band_high": 0.761},
        "few": {"alive": 7, "n": 9, "share": 0.7778, "low": 0.4526, "high": 0.9368, "band_low": 0.7778, "band_high": 0.8889},
        "none": {"alive": 0, "n": 0, "share": None, "reason": "every tree was removed before this round"},
    }


def _table():
    figures = _figures()
    return {
        "caption": "Lots in this planting",
        "columns": [
            ("lot", "Lot", "left"),
            ("mother", "Mother tree", "left"),
            ("sown", "Planted on", "left"),
            ("count", "Trees planted", "right"),
            ("survival", "Survival, 3 seasons", "left"),
            ("state", "State", "left"),
        ],
        "rows": [
            {
                "cells": [
                    ("L24-0031", "left", "#table", "code"),
                    ("KW-03-114", "left", "#table", "code"),
                    (date(2025, 4, 26), "left", None, "date"),
                    (180, "right", None, "number"),
                    (figures["many"], "left", None, "interval"),
                    ("established", "left", None, "state"),
                ]
            },
            {
                "mark": "odd",
                "cells": [
                    ("L23-0008", "left", "#table", "code"),
                    ("bulk", "left", None, "soft"),
                    (date(2025, 4, 27), "left", None, "date"),
                    (9, "right", None, "number"),
                    (figures["few"], "left", None, "interval"),
                    ("in question", "left", None, "state"),
                ],
            },
            {
                "cells": [
                    ("L25-0002", "left", "#table", "code"),
                    (None, "left", None, None),
                    (date(2025, 5, 3), "left", None, "date"),
                    (1204, "right", None, "number"),
                    (figures["none"], "left", None, "interval"),
                    ("planned", "left", None, "state"),
                ]
            },
        ],
        "totals": [
            ("All lots", "left", None, None),
            ("", "left", None, "blank"),
            ("", "left", None, "blank"),
            (1393, "right", None, "number"),
            ("", "left", None, "blank"),
            ("", "left", None, "blank"),
        ],
        "count": 3,
        "unit": "lots",
        "downloads": [("CSV", "#table"), ("Excel", "#table")],
    }


def _gate():
    return {
        "verdict": "stopped",
        "heading": "Stopped until what is missing is on file",
        "on": date(2025, 10, 12),
        "note": "240 seeds of L24-0031, from Walden Nursery to Falls Farm.",
        "always": "Check with the local authority. These records are not a permission.",
        "draws": ["240 seeds of lot L24-0031 under P-2291"],
        "lines": [
            {
                "severity": "stop",
                "finding": "Seed leaves a quarantined county",
                "rule": "MOV-02, edition 2025",
                "lots": "L24-0031",
                "status": "missing",
                "notes": ["This rule is an example, not law", "The rule is not verified: ask the authority"],
                "wanted": "certificate",
                "papers": [],
                "near": [("C-0118", "#gate", "Certificate of 2025", "not in force on 12 Oct 2025: ended on 30 Sep 2025")],
                "next_step": "C-0118: ask the authority to renew it, or for a new one. Then check with the local authority.",
            },
            {
                "severity": "check",
                "finding": "The use-by date is past",
                "lots": "L24-0031",
                "status": "to know",
                "notes": ["Lot L24-0031: use by 30 Jun 2025"],
                "next_step": "Test the lots before they are used, or set a new date with a reason.",
            },
            {
                "severity": "fine",
                "finding": "Test planting of hybrids",
                "rule": "PLA-01, edition 2024",
                "status": "met",
                "wanted": "permit",
                "met": "Met by",
                "papers": [("P-2291", "#gate", "")],
                "next_step": "This rule asks for nothing more.",
            },
        ],
    }


def _duties():
    return [
        {"severity": "late", "text": "No receipt for S25-0004, dispatched 21 days ago", "url": "#duty", "due": date(2025, 10, 2)},
        {
            "severity": "soon",
            "text": "Yearly report under permit P-2291",
            "url": "#duty",
            "due": date(2025, 11, 30),
            "who": "Ines Halloran",
        },
        {"severity": "odd", "text": "FALLS-2: two trees swapped heights since last year", "url": "#duty"},
        {"severity": "done", "text": "Flower removal at FALLS-2, with two photos", "due": date(2025, 6, 14), "who": "Tom Okafor"},
    ]


def _history():
    return [
        {
            "at": datetime(2025, 10, 12, 16, 40),
            "who": "Ines Halloran",
            "verb": "corrected the lot",
            "reason": "Two bags were swapped at the scale.",
            "changes": [("seeds", "420", "402"), ("container", "nothing", "K-17")],
        },
        {"at": datetime(2024, 10, 12, 9, 5), "who": "Tom Okafor", "verb": "recorded the harvest", "changes": [], "reason": ""},
    ]


def _map_trees():
    trees = []
    for row, line in enumerate(_FATES_ON_MAP.split("|"), start=1):
        for position, letters in enumerate(line.split(), start=1):
            number = (row - 1) * 6 + position
            role = "check" if number % 11 == 5 else "buffer" if row == 5 else "test"
            trees.append(MapTree(row, position, _FATE_BY_LETTERS[letters], f"T-{number:03d}", role, "ABCDEF"[(number * 5) % 6], "#map"))
    trees.append(MapTree(2, 7, "dead", "T-031", "test", "C", "#map"))
    trees.append(MapTree(2, 7, "alive", "T-032", "filler", "C", "#map"))
    return trees


def _keying():
    places = [
        ("T-001", "row 1, pos 1", {"status": "A", "height_cm": "148"}),
        ("T-002", "row 1, pos 2", {"status": "A", "height_cm": "14x"}),
        ("T-003", "row 1, pos 3", {"status": "D", "height_cm": "96", "note": "snapped"}),
    ]
    rows = []
    for number, (code, place, data) in enumerate(places):
        bound = SampleKeying({f"k{number}-{name}": value for name, value in data.items()}, prefix=f"k{number}")
        rows.append(
            {
                "code": code,
                "place": place,
                "url": "#keying",
                "fields": list(bound),
                "last": "131",
                "warnings": ["A dead tree with a height. Was it measured before it died?"] if data["status"] == "D" else [],
            }
        )
    return {
        "caption": "Census sheet FALLS-2, third season",
        "columns": [("Status", ""), ("Height", "cm"), ("Note", "")],
        "rows": rows,
        "last_label": "Last year, cm",
    }


def samples():
    """Every sample by the name the page uses."""
    return {
        "chain": _chain(),
        "fates": list(_FATE_BY_LETTERS.values()) + ["unseen"],
        "figures": _figures(),
        "heat": [0.05, 0.27, 0.5, 0.69, 0.93],
        "table": _table(),
        "gate": _gate(),
        "duties": _duties(),
        "history": _history(),
        "facts": [
            ("Taxon", "Juglans cinerea × J. ailantifolia", None),
            ("Mother tree", "KW-03-114", "#facts"),
            ("Harvested on", "12 Oct 2024", None),
            ("Mass", "2.94 kg", None),
            ("Moisture", "", None),
            ("Kept at", "Walden Nursery, cold room 2, 3 °C", None),
        ],
        "caution": {
            "title": "Before you walk in",
            "lines": [
                "Look up first: dead limbs and hung trees. Leave in wind.",
                "Never work alone. Tell your contact when you start and when you are out.",
                "Ticks: check all over the same day.",
            ],
            "decider": "the crew lead; the local manager may stop work",
        },
        "steps": [
            {"text": "Read the site's cautions", "done": True},
            {
                "text": "Find corner 1 and the start peg",
                "current": True,
                "url": "#steps",
                "note": "Steel pin, painted post, 3 m north of the gate.",
            },
            {"text": "Walk the rows in order, one tree after the other"},
            {"text": "Send the sheet, or hand it in"},
        ],
        "trees": _map_trees(),
        "start": (1, 1),
        "entries": [(letter, f"L24-00{number}", "#map") for number, letter in enumerate("ABCDEF", start=31)],
        "keying": _keying(),
        "filters": SampleFilters({"mother": "KW-03-114", "year": "2024"}),
        "form": SampleForm({"height_cm": "tall", "seen_on": "2025-10-12", "note": "Shelter leaning."}),
        "empty": {
            "title": "No shipments yet",
            "text": "A shipment starts from a lot in store. Open the lot and choose where it should go.",
            "action": ("Open the lots", "#empty"),
        },
        "code": "L24-0031",
    }
