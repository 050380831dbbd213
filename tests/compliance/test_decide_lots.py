"""What the gate says beside the rules: landowner, receiver, doubtful identity, use-by date, empty lists. By hand; common practice, no source."""

from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from registry.compliance.duties.local_day import local_day
from registry.compliance.gate.facts import Place
from tests.compliance.scene import DAY, PERMIT, answer, asked, finding, line, paper, reasons

D = date
WITH_OWNER = {"more": {"partner": "PT-05"}}
SITE = {"type": "agreement", "sites": ("ST-05",)} | WITH_OWNER
LANDOWNER = [
    ("an agreement that names the site holds", [paper("A", **SITE)], "met", ""),
    ("a consent that names the site holds", [paper("A", type="consent", sites=("ST-05",), **WITH_OWNER)], "met", ""),
    ("an agreement that names the partner holds", [paper("A", type="agreement", destinations=("partner:PT-05",))], "met", ""),
    ("an agreement that names the site as a place holds", [paper("A", type="agreement", destinations=("site:ST-05",), **WITH_OWNER)], "met", ""),
    ("an agreement that names no place is nobody's", [paper("A", type="agreement")], "missing", ""),
    ("an agreement for the whole state names no landowner", [paper("A", type="agreement", destinations=("US-WI",))], "missing", ""),
    ("an agreement of another site does not hold and is not shown", [paper("A", type="agreement", sites=("ST-06",))], "missing", ""),
    ("a permit that names the site is not an agreement", [paper("A", sites=("ST-05",))], "missing", ""),
    ("a determination that none is needed is not an agreement", [paper("A", type="none_needed", sites=("ST-05",))], "missing", ""),
    ("an agreement holds on its last day", [paper("A", **SITE, ends_on=DAY)], "met", ""),
    ("an agreement that has ended does not", [paper("A", **SITE, ends_on=D(2026, 4, 19))], "missing", "ended on 19 Apr 2026"),
    ("an agreement not signed yet does not", [paper("A", **SITE, states=())], "missing", "no state is recorded"),
    ("an agreement about native trees only does not cover the hybrid", [paper("A", **SITE, taxa=("Juglans cinerea",))], "missing", "wrong taxon"),
    ("an agreement issued under some rule holds", [paper("A", **SITE, under=("R-MI",))], "met", ""),
    ("an agreement with a cap that is too small does not", [paper("A", **SITE, cap_quantity=24, cap_unit="plants")], "missing", "24 plants are left of its cap, 200 are needed"),
]  # fmt: skip


@pytest.mark.parametrize(("papers", "status", "words"), [case[1:] for case in LANDOWNER], ids=[case[0] for case in LANDOWNER])
def test_given_this_agreement(papers, status, words):
    found = answer(asked(landowner_agreement_wanted=True), papers=[PERMIT, *papers])
    assert (finding(found, "landowner").status, found.verdict) == (status, "covered" if status == "met" else "stop")
    told = reasons(found, "landowner")
    assert words in told[0] if words else told == []


def test_no_agreement_is_needed_where_none_is_required():
    assert [one.code for one in answer().findings] == ["R-WI"]


def test_a_place_without_site_and_partner_asks_for_them_first():
    found = answer(asked(landowner_agreement_wanted=True, destination=Place("US-WI")), papers=[paper("A", **SITE)])
    assert finding(found, "landowner").next_step == "Name the site or the landowner first."


def test_an_agreement_that_ended_is_named_in_the_next_step():
    found = answer(asked(landowner_agreement_wanted=True), papers=[paper("A", **SITE, ends_on=D(2026, 4, 19))])
    assert finding(found, "landowner").next_step == (
        "Agreement A: ask the landowner to renew it, or for a new one. Settle this with the landowner first."
    )


def test_a_census_visit_needs_the_agreement_and_no_material():
    visit = asked(activity="census_visit", lines=(), receiver="", landowner_agreement_wanted=True)
    assert answer(visit, rules=[], papers=[]).verdict == "stop"
    agreement = paper("A", **SITE, classes=("donor",), forms=("seed",), cap_quantity=10, cap_unit="plants")
    assert finding(answer(visit, rules=[], papers=[agreement]), "landowner").status == "met"


@pytest.mark.parametrize(("receiver", "verdict"), [("Hana Castellaw", "covered"), ("", "stop"), ("  ", "stop")])
def test_a_shipment_needs_a_named_receiver(receiver, verdict):
    assert answer(asked(receiver=receiver)).verdict == verdict


def test_a_planting_needs_no_receiver():
    assert answer(asked(activity="establish", receiver="")).verdict == "covered"


@pytest.mark.parametrize(
    ("activity", "severity"), [("dispatch", "blocking"), ("establish", "blocking"), ("inoculate", "blocking"), ("hold", "advisory")]
)
def test_a_lot_in_question_may_not_move(activity, severity):
    found = answer(asked(activity=activity, lines=(line(in_question="leaf hair does not fit the mother"),)), rules=[])
    doubt = finding(found, "in_question")
    assert (doubt.severity, doubt.notes) == (severity, ("Lot P25-01: leaf hair does not fit the mother",))
    assert found.verdict == ("stop" if severity == "blocking" else "check")


@pytest.mark.parametrize(("use_by", "verdict"), [(DAY, "covered"), (D(2026, 4, 19), "check"), (None, "covered")])
def test_the_use_by_date_itself_is_still_in_time(use_by, verdict):
    found = answer(asked(lines=(line(use_by=use_by),)))
    assert found.verdict == verdict
    assert [one.notes for one in found.findings if one.kind == "use_by"] == (
        [("Lot P25-01: use by 19 Apr 2026",)] if verdict == "check" else []
    )


@pytest.mark.parametrize(("activity", "verdict"), [("dispatch", "stop"), ("establish", "stop"), ("hold", "check")])
def test_a_shipment_or_planting_without_material_stops(activity, verdict):
    found = answer(asked(activity=activity, lines=()))
    assert found.verdict == verdict
    assert any(one.kind == "no_lines" for one in found.findings) == (verdict == "stop")


# Moments and offsets: IANA time zone database (New York is 5 h behind UTC in winter, Honolulu 10 h; Auckland 13 h ahead in its summer).
MIDNIGHT = [
    ("one minute before midnight in New York is the last day there", "2026-12-31T23:59:00-05:00", "America/New_York", D(2026, 12, 31), "covered"),
    ("the same moment is already the next year in Auckland", "2026-12-31T23:59:00-05:00", "Pacific/Auckland", D(2027, 1, 1), "stop"),
    ("midnight in New York is the day after the last", "2027-01-01T00:00:00-05:00", "America/New_York", D(2027, 1, 1), "stop"),
    ("the same moment is still the last day in Honolulu", "2027-01-01T00:00:00-05:00", "Pacific/Honolulu", D(2026, 12, 31), "covered"),
    ("midnight in Auckland is the evening before the first day in New York", "2026-01-01T00:00:00+13:00", "America/New_York", D(2025, 12, 31), "stop"),
    ("midnight in Auckland begins the first day there", "2026-01-01T00:00:00+13:00", "Pacific/Auckland", D(2026, 1, 1), "covered"),
]  # fmt: skip


@pytest.mark.parametrize(("moment", "zone", "day", "verdict"), [case[1:] for case in MIDNIGHT], ids=[case[0] for case in MIDNIGHT])
def test_a_permit_ends_with_the_local_day(moment, zone, day, verdict):
    at = datetime.fromisoformat(moment)
    assert local_day(at, zone) == local_day(at, ZoneInfo(zone)) == day
    assert answer(asked(on=local_day(at, zone))).verdict == verdict


def test_a_moment_without_a_zone_has_no_day():
    with pytest.raises(ValueError, match="has no time zone"):
        local_day(datetime(2026, 12, 31, 23, 59), "America/New_York")


def test_the_order_of_states_of_one_day_is_the_order_of_entry():
    draft, in_force = (replace(PERMIT.states[0], state=state) for state in ("draft", "in_force"))
    assert [answer(papers=[paper(states=states)]).verdict for states in ((draft, in_force), (in_force, draft))] == ["covered", "stop"]
