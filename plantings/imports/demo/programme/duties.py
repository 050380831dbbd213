"""Duties under the demo's invented papers, what was done about them, a shipment of last autumn and those planned for next spring.

None of it is law.
"""

_COORDINATOR, _LEAD = "tomas.wexcombe", "ines.calderwood"
_REPORTED = "sent by mail, copy in the paper's folder (invented)"
_TRAINED = ("wren.oakhollow", "dale.hobbinson", "mina.farrowdale")
_EVIDENCE = {"DU-PT01": "called and noted"} | {f"DU-TRAIN-{place}": "list of the day, signed (invented)" for place in (1, 2, 3)}
AUTUMN = "SH-2026-01"


def duties():
    return [
        _duty("DU-WI-REPORT", "report", "Yearly report of the trees alive", "EX-PERMIT-WI", "yearly_on", "2021-02-28", month=2, day=28,
              note="due while trees are alive, though the permit has ended"),
        _duty("DU-MI-REPORT", "report", "Yearly report of what was moved, lives and died", "EX-PERMIT-MI", "yearly_on", "2022-01-31",
              month=1, day=31),
        _duty("DU-MI-RENEW", "renewal", "Ask for a renewal", "EX-PERMIT-MI", "once", "2026-10-31", notice=90),
        _duty("DU-PA-VISIT", "visit", "Inspect the test planting", "EX-NOTE-PA", "months", "2025-11-15", every=6),
        _duty("DU-NY-ASK", "rule_review", "Ask again whether a permit is needed", "EX-NONE-NY", "years", "2027-01-15", every=2),
        _duty("DU-PT01", "owner", "Yearly call to the landowner", "EX-AGR-01", "before_season", "2026-03-15", month=4, day=1, before=17,
              partner="PT-01"),
        *(
            _duty(f"DU-TRAIN-{place}", "training", "Field day for the census crew", "", "yearly_on", "2024-06-15", month=6, day=15,
                  responsible=person)
            for place, person in enumerate(_TRAINED, start=1)
        ),
    ]  # fmt: skip


def _duty(
    code, kind, title, paper, comes, first, *, every=1, month="", day="", before="", notice=30, partner="", note="",
    responsible=_COORDINATOR,
):  # fmt: skip
    return {
        "code": code, "duty_kind": kind, "title_text": f"{title} (example, not law)", "authorization": paper, "partner": partner,
        "recurrence": comes, "first_due_on": first, "every": every, "season_month": month, "season_day": day, "days_before": before,
        "lead_days": notice, "responsible": responsible, "second": _LEAD,
        "evidence_wanted": "a copy, or who was spoken to and when", "note": note,
    }  # fmt: skip


def done():
    """The report of 2024 went out late; that of 2026 under the ended permit was never sent."""
    rows = [("DU-WI-REPORT", f"{year}-02-28", f"{year}-02-{day}") for year, day in ((2021, 20), (2022, 25), (2023, 24), (2025, 27))]
    rows += [("DU-WI-REPORT", "2024-02-28", "2024-03-11")]
    rows += [
        ("DU-MI-REPORT", f"{year}-01-31", f"{year}-01-{day}") for year, day in ((2022, 28), (2023, 30), (2024, 31), (2025, 24), (2026, 29))
    ]
    rows += [
        ("DU-PA-VISIT", "2025-11-15", "2025-11-12"),
        ("DU-PA-VISIT", "2026-05-15", "2026-05-14"),
        ("DU-PT01", "2026-03-15", "2026-03-02"),
    ]
    rows += [
        (f"DU-TRAIN-{place}", f"{year}-06-15", f"{year}-06-08")
        for year in (2024, 2025, 2026)
        for place in (1, 2, 3)
        if (year, place) != (2025, 3)
    ]
    return [
        {
            "duty": duty,
            "due_on": due,
            "done_on": on,
            "by": "Tomas Wexcombe",
            "evidence": _EVIDENCE.get(duty, _REPORTED),
        }
        for duty, due, on in rows
    ]


def planned_shipments():
    """One that goes through the gate when the demo is loaded, and two drafts for 2027: one its papers stop, one with something to check."""
    head = {
        "planned_on": "2027-04-12",
        "origin_region": "US-VT",
        "carrier": "day courier",
        "handling": "KEEP 1-4 C, ROOTS MOIST, DO NOT FREEZE",
    }
    lot = {"lot": "P26-SLS02", "form": "bareroot"}
    return [
        head
        | lot
        | {
            "code": AUTUMN,
            "receiver": "PT-09",
            "receiving_person": "Imke Rosswell",
            "site_code": "ST-11",
            "planned_on": "2026-10-28",
            "quantity": 24,
            "note": "to be heeled in at the trust until spring",
        },
        {
            "code": "SH-2027-01",
            "receiver": "PT-10",
            "receiving_person": "Peter Duncastle",
            **head,
            **lot,
            "quantity": 90,
            "note": "the permit ends before the planned day",
        },
        {
            "code": "SH-2027-02",
            "receiver": "PT-11",
            "receiving_person": "Olive Brandreth",
            **head,
            **lot,
            "quantity": 60,
            "note": "to be grown on",
        },
    ]


def late_receipts():
    """What arrived of the shipment that went through the gate."""
    return [
        {
            "shipment": AUTUMN, "received_on": "2026-10-29", "received_by": "Imke Rosswell", "lot": "P26-SLS02", "form": "bareroot",
            "box_condition": "good", "temperature_c": 6.0, "sound": 24, "sprouted": 0, "spoiled": 0,
            "note": "roots moist",
        }
    ]  # fmt: skip


def late_leftovers():
    return [
        {
            "shipment": AUTUMN, "lot": "P26-SLS02", "form": "bareroot", "outcome": "held", "on": "2026-10-30", "count": 24,
            "note": "heeled in behind the tool shed, tagged",
        }
    ]  # fmt: skip
