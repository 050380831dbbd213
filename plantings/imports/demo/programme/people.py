"""Partners, people and papers. All invented; every paper says so in its title."""

from plantings.imports.demo.programme.description import DESCRIPTION
from plantings.imports.demo.programme.places import BY_CODE, PLANTED

PARTNERS = DESCRIPTION["partner"]
PEOPLE = DESCRIPTION["person"]
CONTACT = {partner["code"]: partner["contact"] for partner in PARTNERS}
FULL_NAMES = {person["username"]: tuple(name.capitalize() for name in person["username"].split(".")) for person in PEOPLE}
NAMES = {username: f"{first[0]}. {last}" for username, (first, last) in FULL_NAMES.items()}
_REGIONS = {"Vermont": "US-VT", "New York": "US-NY", "Pennsylvania": "US-PA", "Wisconsin": "US-WI", "Michigan": "US-MI"}
HOLDER = DESCRIPTION["programme"]["name"]
_CHECK = "Example only. Check with the local authority before any plant moves."


def partners():
    return [
        {
            "code": partner["code"], "name": partner["name"], "partner_kind": partner["kind"], "contact_name": partner["contact"],
            "address": partner["address"], "region": _REGIONS[partner["address"].rpartition(", ")[2]],
            "map_privacy": partner["map_privacy"], "note": partner.get("note", ""),
            "email": f"{partner['contact'].lower().replace(' ', '.')}@example.org", "phone": f"555-01{number:02d}",
            "consent_on": f"2019-{number % 9 + 1:02d}-{number * 2:02d}",
        }
        for number, partner in enumerate(PARTNERS, start=1)
    ]  # fmt: skip


def people():
    return [
        {
            "username": person["username"], "first_name": FULL_NAMES[person["username"]][0],
            "last_name": FULL_NAMES[person["username"]][1], "email": f"{person['username']}@example.org",
            "phone": f"555-01{number:02d}", "role": person["role"], "partner": person.get("partner", ""), "is_active": "yes",
        }
        for number, person in enumerate(PEOPLE, start=20)
    ]  # fmt: skip


def papers():
    return [*_agreements(), *_certificates(), *_state_papers()]


def paper_versions():
    """What one notification said as issued, and since its amendment: the sheet of papers has the last of them."""
    paper = next(paper for paper in papers() if paper["code"] == "EX-NOTE-PA")
    last = {"authorization": paper["code"], **{name: paper[name] for name in ("covers", "conditions", "starts_on", "ends_on")}}
    issued = {"conditions": "Example only. Check with the local authority before any plant moves.", "ends_on": "2025-12-31"}
    return [
        last | issued | {"from_on": paper["starts_on"], "reason": "as issued (example)"},
        last | {"from_on": "2024-05-01", "reason": "amendment 1, renewed (example)"},
    ]


def paper_states():
    """A permit that was suspended one winter, when nothing moved."""
    return [
        {"authorization": "EX-PERMIT-WI", "on": "2023-01-10", "state": "suspended", "reason": "the yearly report was missing (example)"},
        {"authorization": "EX-PERMIT-WI", "on": "2023-02-14", "state": "in_force", "reason": "the yearly report arrived (example)"},
    ]


def _paper(code, kind, title, issuer, covers, conditions, starts_on, ends_on, state="in_force", **rest):
    return {
        "code": code, "paper_type": kind, "title_text": f"{title} (example, not law)", "issuer": issuer, "holder_body": HOLDER,
        "covers": covers, "conditions": conditions, "starts_on": starts_on, "ends_on": ends_on, "state": state, **rest,
    }  # fmt: skip


def _agreements():
    """One planting agreement for each landholder, from the autumn before the first planting there; that of the sold farm is suspended."""
    rows = []
    for partner in PARTNERS:
        code, name = partner["code"], partner["name"]
        years = [int(day[:4]) for place, day in PLANTED if BY_CODE[place].partner == code]
        if not years:
            continue
        ends_on, state, note = f"{min(years) + 10}-12-31", "in_force", ""
        if code == "PT-02":
            ends_on, note = "2026-12-31", "to be renewed this winter"
        if code == "PT-10":
            state, note = "suspended", "the land was sold; the new owner has not signed"
        rows.append(
            _paper(
                f"EX-AGR-{code[3:]}",
                "landowner",
                f"Planting agreement with {name}",
                f"{name} (invented)",
                "Planting, visiting and measuring of test trees on the parcel named in the annex.",
                "No nuts, scions or trees are sold or given away. The landholder is told a week before each visit.",
                f"{min(years) - 1}-11-01",
                ends_on,
                state,
                activities="dispatch; establish; census_visit",
                holder_person=partner["contact"],
                partner=code,
                note=note,
            )  # fmt: skip
        )
    return rows


def _certificates():
    return [
        _paper(
            f"EX-CERT-{year}", "certificate", f"Nursery inspection certificate {year}",
            "Example plant inspection office, Vermont (invented)",
            "Bareroot stock of the Mill Brook nursery, inspected while growing, found free of visible pests.",
            f"Valid for stock lifted in the season {year}. {_CHECK}", f"{year - 1}-09-01", f"{year}-12-31", "closed",
            issuer_reference=f"INV-{year}-0{year % 7 + 2}",
        )
        for year in (2019, 2020, 2021, 2022)
    ]  # fmt: skip


def _state_papers():
    """Papers of the invented state offices: a capped permit that has run out, one that soon will, a notification, two determinations."""
    return [
        _paper(
            "EX-PERMIT-WI", "permit", "Permit to bring in walnut-family plants", "Example plant office, Wisconsin (invented)",
            "Bareroot walnut-family test plants from Vermont to the two sites named in the annex.",
            f"Trees stay on the named sites. Cankered checks are reported each year. {_CHECK}", "2020-01-15", "2025-12-31", "expired",
            cap_quantity=700, cap_unit="plants", issuer_reference="INV-WI-0117", activities="dispatch", forms="bareroot", taxa="Juglans",
            destinations="US-WI", note="ended; the yearly report is due while trees are alive",
        ),
        _paper(
            "EX-PERMIT-MI", "permit", "Permit for regulated host plants", "Example plant office, Michigan (invented)",
            "Bareroot walnut-family test plants from Vermont to sites in Manistee and Washtenaw counties.",
            f"The office is told before a tree is moved or destroyed. {_CHECK}", "2021-02-01", "2026-12-31",
            cap_quantity=700, cap_unit="plants", issuer_reference="INV-MI-2044", activities="dispatch", forms="bareroot", taxa="Juglans",
            destinations="US-MI",
        ),
        _paper(
            "EX-NOTE-PA", "notification", "Notification of a test planting", "Example plant office, Pennsylvania (invented)",
            "Test plantings of butternut hybrids on the Greywether Forest District.", f"Renewed when the entries change. {_CHECK}",
            "2020-02-01", "2030-12-31", issuer_reference="INV-PA-88",
        ),
        _paper(
            "EX-NONE-NY", "none_needed", "Determination that no state permit is needed", "Example plant office, New York (invented)",
            "Bareroot plants and nuts from Vermont to named sites in New York.", f"To be asked again when the rule changes. {_CHECK}",
            "2019-08-01", "2027-07-31", note="asked by letter; the answer is on file", activities="dispatch", origins="US-VT",
            destinations="US-NY",
        ),
        _paper(
            "EX-NONE-VT", "none_needed", "Determination that no permit is needed within the state",
            "Example plant office, Vermont (invented)", "Movement of nursery stock within Vermont.", _CHECK, "2019-08-01", "2028-07-31",
            activities="dispatch", origins="US-VT", destinations="US-VT",
        ),
        _paper(
            "EX-CONSENT-12", "consent", "Consent of Lanternbeck School to a teaching plot", "Lanternbeck School (invented)",
            "A teaching plot of 24 trees behind the school.", "Not signed yet.", "2022-09-01", "2032-08-31", "draft",
        ),
    ]  # fmt: skip
