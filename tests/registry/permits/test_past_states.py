"""What a paper was on a past day: from its dates when it is entered once it is over, and from sheets of states and versions."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.compliance.gate.papers import state_on as gate_state
from registry.imports.permits.authorizations import AuthorizationSheet, AuthorizationStateSheet, AuthorizationVersionSheet
from registry.models import Authorization
from registry.selectors.gate.facts import papers_on_file
from registry.selectors.permits.as_of import paper_on, state_on
from registry.services.permits.authorizations import authorization_state_enter
from tests import factories
from tests.compliance.scene import answer, asked, finding, rule
from tests.registry.sheets.sheet_help import load, refused

pytestmark = pytest.mark.django_db
PAPER = 'Our reference,Type,Title,Issuer,"What it covers, as written",Starts,Ends,State\n'
STATES = "Paper,From,State,Why\n"
VERSIONS = (
    'Paper,Says so from,Starts,Ends,"What it covers, as written",Quantity cap,Unit of the cap,Covers forms,What was amended and why\n'
)


def states(on):
    """The state of P-1 on a day: as its pages read it and as the gate reads it."""
    paper = Authorization.objects.get(code="P-1")
    (kept,) = papers_on_file({paper.type}, on)
    shown = state_on(paper.state_history.all(), on)
    return shown.state if shown else "", gate_state(kept, on)


@pytest.mark.parametrize("over", ["expired", "closed"])
def test_a_paper_loaded_after_its_end_was_in_force_before(over):
    load(AuthorizationSheet, PAPER + f"P-1,permit,Permit,Office,plants,2020-01-15,2025-12-31,{over}\n")
    assert states(date(2022, 6, 1)) == ("in_force", "in_force")
    assert states(date(2025, 12, 31)) == ("in_force", "in_force")
    assert states(date(2026, 1, 1)) == (over, over)
    assert states(date(2020, 1, 14)) == ("", "")
    assert paper_on(Authorization.objects.get(), date(2022, 6, 1)).state == "in_force"


def test_a_paper_loaded_while_it_is_suspended_was_in_force_before():
    load(AuthorizationSheet, PAPER + "P-1,permit,Permit,Office,plants,2020-01-15,2099-12-31,suspended\n")
    assert states(date(2022, 6, 1)) == ("in_force", "in_force")
    assert states(timezone.localdate()) == ("suspended", "suspended")


def test_a_paper_that_is_in_force_has_one_state():
    load(AuthorizationSheet, PAPER + "P-1,permit,Permit,Office,plants,2020-01-15,2099-12-31,in_force\n")
    assert [(one.state, one.on) for one in Authorization.objects.get().state_history.all()] == [("in_force", date(2020, 1, 15))]


def test_states_of_the_past_have_a_sheet_of_their_own():
    load(AuthorizationSheet, PAPER + "P-1,permit,Permit,Office,plants,2020-01-15,2025-12-31,expired\n")
    rows = "P-1,2022-03-01,suspended,letter of 1 March\nP-1,2022-06-01,in_force,letter of 1 June\n"
    load(AuthorizationStateSheet, STATES + rows)
    assert [states(day)[1] for day in (date(2022, 2, 28), date(2022, 3, 1), date(2022, 6, 1), date(2026, 1, 1))] == [
        "in_force", "suspended", "in_force", "expired",
    ]  # fmt: skip
    assert Authorization.objects.get().state == "expired"
    count = Authorization.objects.get().state_history.count()
    load(AuthorizationStateSheet, STATES + rows)
    assert Authorization.objects.get().state_history.count() == count == 4


def test_a_state_of_an_unknown_paper_is_refused_in_plain_words():
    [problem] = refused(AuthorizationStateSheet, STATES + "P-9,2024-03-01,suspended,letter\n")
    assert "'P-9' is not the code of an authorization on file; correct it, or load that authorization first" in problem


def test_a_state_from_the_sheet_that_is_the_last_is_repeated_on_the_paper():
    load(AuthorizationSheet, PAPER + "P-1,permit,Permit,Office,plants,2020-01-15,2099-12-31,in_force\n")
    load(AuthorizationStateSheet, STATES + "P-1,2024-03-01,suspended,letter\n")
    assert Authorization.objects.get().state == "suspended"
    with pytest.raises(ValidationError, match="suspended from that day already"):
        paper = Authorization.objects.get()
        authorization_state_enter(actor=factories.person("lead"), paper=paper, state="suspended", on=date(2024, 3, 1))


def test_what_a_paper_said_as_issued_is_read_for_its_own_days():
    load(AuthorizationSheet, PAPER + "P-1,permit,Permit,Office,seed and plants,2020-01-15,2027-12-31,in_force\n")
    rows = "P-1,2020-01-15,2020-01-15,2024-12-31,seed,500,seeds,seed,as issued\nP-1,2023-01-01,2020-01-15,2027-12-31,seed and plants,,,,amendment 1\n"
    load(AuthorizationVersionSheet, VERSIONS + rows)
    paper = Authorization.objects.get()
    assert (paper.covers, paper.ends_on, paper.cap_quantity) == ("seed and plants", date(2027, 12, 31), None)
    then = paper_on(Authorization.objects.get(), date(2022, 12, 31))
    assert (then.covers, then.ends_on, then.cap_quantity, then.cap_unit) == ("seed", date(2024, 12, 31), 500, "seeds")
    assert paper_on(Authorization.objects.get(), date(2023, 1, 1)).covers == "seed and plants"
    count = paper.versions.count()
    load(AuthorizationVersionSheet, VERSIONS + rows, reason="loaded again")
    assert paper.versions.count() == count


def test_a_version_needs_a_word_on_where_it_is_from():
    load(AuthorizationSheet, PAPER + "P-1,permit,Permit,Office,seed,2020-01-15,2027-12-31,in_force\n")
    assert "Say what this version is taken from" in " ".join(
        refused(AuthorizationVersionSheet, VERSIONS + "P-1,2023-01-01,2020-01-15,2027-12-31,plants,,,,\n")
    )


def test_a_rule_verified_later_is_not_verified_for_an_earlier_day():
    later = rule(verified_on=date(2026, 4, 21))
    assert finding(answer(rules=[later])).unverified == "not verified before 21 Apr 2026: ask the authority"
    assert finding(answer(rules=[rule(verified_on=date(2026, 4, 20))])).unverified == ""
    assert finding(answer(asked(edition=3), rules=[later])).unverified == ""
