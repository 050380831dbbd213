"""Two names are two people: one person in two spellings is refused, and the second confirms signed in or by a link."""

import datetime
import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from plantings.selectors.overview.today import today_lines
from registry.models import AuditEntry, DecisionAgreement, DecisionLink, SelectionDecision
from registry.selectors.orchard.second import decision_link_for
from registry.services.orchard.decisions import decision_enter
from registry.services.orchard.second import decision_confirm, decision_confirm_by_link, decision_link_make
from registry.services.orchard.tree_status import tree_status_set
from tests import factories

pytestmark = pytest.mark.django_db
SAYS = {"decision": "kept", "evidence": "scored below the F1 check", "first_name": "Ada Person", "second_name": "Ben Other"}


@pytest.fixture
def lead():
    return factories.person("lead", first_name="Ada", last_name="Person")


def decided(lead, **fields):
    return decision_enter(
        **{"actor": lead, "tree": factories.pedigree_tree(), "decided_on": factories.day(2026, 5, 1), "needs_second": True} | SAYS | fields
    )


@pytest.mark.parametrize("second", ["ada person", "Person, Ada", "A. Person", "Dr Ada Person", "Ada B. Person", "Áda  Person"])
def test_one_person_in_two_spellings_is_refused(lead, second):
    with pytest.raises(ValidationError, match="may be another spelling of “Ada Person”"):
        decided(lead, second_name=second)
    assert not SelectionDecision.objects.exists()


def test_the_second_person_confirms_signed_in(client, lead):
    decision = decided(lead)
    second = factories.person("manager", first_name="Ben", last_name="Other")
    client.force_login(second)
    page = client.get(reverse("decision_detail", args=[decision.pk])).content.decode()
    assert "Ben Other has not confirmed it yet." in page and reverse("decision_confirm", args=[decision.pk]) in page
    assert [line.mine for line in today_lines(second, timezone.localdate()) if "waits for your confirmation" in line.text] == [True]
    form = client.get(reverse("decision_confirm", args=[decision.pk])).content.decode()
    assert decision.evidence in form and decision.get_decision_display() in form
    client.post(reverse("decision_confirm", args=[decision.pk]))
    agreement = DecisionAgreement.objects.get()
    assert (agreement.decision, agreement.how, agreement.entered_by) == (decision, "account", second)
    page = client.get(reverse("decision_detail", args=[decision.pk])).content.decode()
    assert "signed in" in page and "has not confirmed" not in page
    assert AuditEntry.objects.filter(verb="selectiondecision.confirmed").count() == 1


def test_nobody_confirms_in_the_name_of_another(client, lead):
    decision = decided(lead)
    with pytest.raises(ValidationError, match="Only Ben Other can confirm"):
        decision_confirm(actor=lead, decision=decision)
    impostor = factories.person("lead", first_name="Ben", last_name="Other")
    own = decided(impostor, evidence="another tree")
    with pytest.raises(ValidationError, match="Only Ben Other can confirm"):
        decision_confirm(actor=impostor, decision=own)
    assert not DecisionAgreement.objects.exists()


def test_the_second_person_confirms_by_a_link_without_an_account(client, lead):
    decision = decided(lead)
    client.force_login(lead)
    made = client.post(reverse("decision_link", args=[decision.pk])).content.decode()
    address = re.search(r"https?://[^<\s]+/decisions/agree/[^<\s]+/", made).group()
    token = address.rstrip("/").rsplit("/", 1)[1]
    assert token not in str(list(DecisionLink.objects.values())) and token not in str(list(AuditEntry.objects.values("changes", "reason")))
    client.logout()
    page = client.get(address)
    assert page.status_code == 200 and page["Cache-Control"] == "no-store"
    assert "scored below the F1 check" in page.content.decode() and "I am Ben Other, and I agree" in page.content.decode()
    assert "Ben Other agreed to the decision" in client.post(address).content.decode()
    assert DecisionAgreement.objects.get().how == "link"
    assert client.get(address).status_code == client.post(address).status_code == 404
    assert DecisionAgreement.objects.count() == 1


def test_who_made_the_link_or_decided_first_does_not_confirm_by_it(client, lead):
    first = factories.person("manager", first_name="Ada", last_name="Person")
    decision = decided(factories.person("lead", first_name="Cid", last_name="Clerk"))
    address = reverse("decision_by_link", args=[decision_link_make(actor=lead, decision=decision)[1]])
    for person in (lead, decision.entered_by, first):
        client.force_login(person)
        for page in (client.get(address), client.post(address)):
            assert page.status_code == 403 and "send them the link, or sign out before they open it here" in page.content.decode()
    assert not DecisionAgreement.objects.exists()
    client.force_login(factories.person("manager", first_name="Ben", last_name="Other"))
    assert client.post(address).status_code == 200 and DecisionAgreement.objects.exists()


def test_a_link_ends(client, lead):
    decision = decided(lead)
    link, token = decision_link_make(actor=lead, decision=decision)
    assert decision_link_for(token, link.ends_on) == link
    assert decision_link_for(token, link.ends_on + datetime.timedelta(days=1)) is None
    DecisionLink.objects.update(ends_on=timezone.localdate() - datetime.timedelta(days=1))
    with pytest.raises(ValidationError, match="no longer works"):
        decision_confirm_by_link(token=token)
    assert client.get(reverse("decision_by_link", args=[token])).status_code == 404
    assert client.get(reverse("decision_by_link", args=["x" * 43])).status_code == 404


def test_a_confirmation_cannot_be_changed(lead):
    decision_confirm_by_link(token=decision_link_make(actor=lead, decision=decided(lead))[1])
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        DecisionAgreement.objects.update(how="account")


def test_an_old_decision_from_a_sheet_waits_for_nobody(client, lead):
    decision = decided(lead, needs_second=None)
    client.force_login(lead)
    assert "has not confirmed" not in client.get(reverse("decision_detail", args=[decision.pk])).content.decode()
    assert not [line for line in today_lines(lead, timezone.localdate()) if "waits for" in line.text]


def test_a_tree_is_not_cut_on_a_decision_that_waits(client, lead):
    tree = factories.pedigree_tree(code="KW-1")
    factories.decision(tree, "rogued", actor=lead, on=factories.day(2026, 5, 1), needs_second=True)
    client.force_login(lead)
    page = client.get(reverse("pedigreetree_detail", args=[tree.pk])).content.decode()
    assert "The decision of 1 May 2026 to rogue it waits for B. Second to confirm it. Leave it standing until then." in page
    sent = {"status": "rogued", "status_on": "2026-05-02", "status_reason": "cut"}
    answer = client.post(reverse("pedigreetree_status", args=[tree.pk]), sent).content.decode()
    tree.refresh_from_db()
    assert tree.status == "standing" and "B. Second has not confirmed the decision of 1 May 2026" in answer
    client.post(reverse("pedigreetree_status", args=[tree.pk]), sent | {"confirmed": "on"})
    page = client.get(reverse("pedigreetree_detail", args=[tree.pk])).content.decode()
    assert "Rogued without a decision of two people: B. Second has not confirmed that of 1 May 2026." in page


def test_today_lists_no_tree_to_cut_before_the_second_confirms(lead):
    manager, on = factories.person("manager"), factories.day(2026, 5, 3)
    tree = factories.pedigree_tree(code="KW-1")
    decision = factories.decision(tree, "rogued", actor=lead, on=factories.day(2026, 5, 1), needs_second=True)

    def said(user, words):
        return [line.text for line in today_lines(user, on) if words in line.text]

    assert said(manager, "still standing") == [] and len(said(lead, "waits for B. Second to confirm")) == 1
    tree_status_set(actor=manager, tree=tree, status="rogued", on=on, reason="cut")
    assert said(lead, "rogued without") == ["1 tree was rogued without a decision of two people: KW-1"]
    tree_status_set(actor=manager, tree=tree, status="standing", on=on, reason="it was another tree")
    decision_confirm_by_link(token=decision_link_make(actor=lead, decision=decision)[1])
    assert said(manager, "still standing") == ["1 tree decided to be rogued is still standing (decided on 1 May 2026): KW-1"]
    tree_status_set(actor=manager, tree=tree, status="rogued", on=on, reason="cut")
    assert said(lead, "rogued without") == []


def test_an_equal_decision_is_stored_once(lead):
    tree = factories.pedigree_tree()
    first = decided(lead, tree=tree)
    assert decided(lead, tree=tree, second_name=" Ben  Other ") == first
    assert SelectionDecision.objects.count() == 1
    assert decided(lead, tree=tree, evidence="looked again") != first


@pytest.mark.django_db(transaction=True)
def test_twenty_equal_decisions_at_once_store_one():
    lead, tree = factories.person("lead"), factories.pedigree_tree()

    def decide(_number):
        try:
            return decided(lead, tree=tree).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(20) as pool:
        assert len(set(pool.map(decide, range(20)))) == 1
    assert SelectionDecision.objects.count() == 1
