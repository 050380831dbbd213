"""Two people change one record at once: nobody overwrites what the other saved without having read it."""

import re

import pytest
from django.urls import reverse

from registry.forms.shared.edit_conflict import _digests
from registry.models import Partner
from registry.views.shared.forms import RecordFormView
from tests import factories
from tests.project.access_table import address, routes
from tests.project.one_of_everything import world

pytestmark = pytest.mark.django_db


def opened(client, url):
    """The boxes of a form as it is shown, hidden ones included, as they would be sent."""
    page = client.get(url)
    form = page.context["form"]
    sent = {"as_shown": re.search(r'name="as_shown" value="([^"]+)"', page.content.decode())[1]}
    for bound in form:
        value = bound.value()
        if value is not None and value is not False:
            sent[bound.html_name] = "on" if value is True else value
    return sent


def errors(page):
    return page.context["form"].non_field_errors()


@pytest.fixture
def partner(client):
    client.force_login(factories.person("coordinator"))
    return factories.partner(phone="555 0100", county="Addison", region="US-VT")


def test_what_another_person_just_saved_is_not_overwritten(client, partner):
    url = reverse("partner_edit", args=[partner.pk])
    first, second = opened(client, url), opened(client, url)
    client.post(url, second | {"phone": "555 0199"})
    page = client.post(url, first | {"county": "Orange", "phone": "555 0100"})
    assert page.status_code == 200
    [message] = errors(page)
    assert "Phone is now “555 0199”" in message and "County" not in message
    assert 'value="Orange"' in page.content.decode() and 'value="555 0100"' in page.content.decode()
    partner.refresh_from_db()
    assert (partner.phone, partner.county) == ("555 0199", "Addison")


def test_a_second_save_stores_the_values_in_the_form(client, partner):
    url = reverse("partner_edit", args=[partner.pk])
    first = opened(client, url)
    Partner.objects.filter(pk=partner.pk).update(phone="555 0199")
    page = client.post(url, first | {"county": "Orange"})
    again = first | {"county": "Orange", "as_shown": page.context["as_shown"]}
    assert client.post(url, again).status_code == 302
    partner.refresh_from_db()
    assert (partner.phone, partner.county) == ("555 0100", "Orange")


def test_a_change_between_two_saves_is_shown_too(client, partner):
    url = reverse("partner_edit", args=[partner.pk])
    first = opened(client, url)
    Partner.objects.filter(pk=partner.pk).update(phone="555 0199")
    page = client.post(url, first | {"county": "Orange"})
    Partner.objects.filter(pk=partner.pk).update(county="Essex")
    page = client.post(url, first | {"county": "Orange", "as_shown": page.context["as_shown"]})
    [message] = errors(page)
    assert "County is now “Essex”" in message and "Phone" not in message


def test_a_form_returned_with_errors_remembers_what_it_showed(client, partner):
    url = reverse("partner_edit", args=[partner.pk])
    first = opened(client, url)
    Partner.objects.filter(pk=partner.pk).update(phone="555 0199")
    page = client.post(url, first | {"name": ""})
    assert "name" in page.context["form"].errors and page.context["as_shown"] == first["as_shown"]
    assert "Phone is now" in errors(client.post(url, first | {"as_shown": page.context["as_shown"]}))[0]


def test_the_same_change_by_two_people_is_not_a_conflict(client, partner):
    url = reverse("partner_edit", args=[partner.pk])
    first = opened(client, url) | {"phone": "555 0199", "as_shown": opened(client, url)["as_shown"]}
    Partner.objects.filter(pk=partner.pk).update(phone="555 0199")
    assert client.post(url, first).status_code == 302


def test_a_list_a_day_and_a_blank_are_named_as_the_form_names_them(client, partner):
    url = reverse("partner_edit", args=[partner.pk])
    first = opened(client, url)
    Partner.objects.filter(pk=partner.pk).update(kind="nursery", consent_on=factories.day(2020, 1, 15), phone="")
    [message] = errors(client.post(url, first))
    assert "Kind is now “nursery”" in message
    assert "is now 15 Jan 2020" in message and "Phone is now blank" in message


def test_the_crew_of_a_planting_is_watched_too(client):
    client.force_login(factories.person("coordinator"))
    ann, ben = factories.person("volunteer", first_name="Ann", last_name="Alder"), factories.person("volunteer", username="ben")
    planting = factories.planting(crew=[ann])
    url = reverse("planting_edit", args=[planting.pk])
    first = opened(client, url)
    planting.crew.set([ben])
    [message] = errors(client.post(url, first | {"crew": [ann.pk], "note": "Gate mended."}))
    assert "is now “ben”" in message
    assert list(planting.crew.all()) == [ben]


def test_a_box_of_another_record_or_of_nobody_is_not_believed(client, partner):
    other = opened(client, reverse("partner_edit", args=[factories.partner().pk]))["as_shown"]
    url = reverse("partner_edit", args=[partner.pk])
    for token in (other, "nonsense"):
        page = client.post(url, opened(client, url) | {"county": "Orange", "as_shown": token})
        assert "cannot tell" in errors(page)[0]
        sent = opened(client, url) | {"county": "Orange", "as_shown": page.context["as_shown"]}
        assert client.post(url, sent).status_code == 302
        Partner.objects.filter(pk=partner.pk).update(county="Addison")


def test_every_form_recognises_an_unchanged_record(client):
    people, records, special = world()
    client.force_login(people["lead"])
    seen, wrong = set(), []
    for name, pattern, view in routes():
        if not issubclass(getattr(view.callback, "view_class", object), RecordFormView) or "<int:pk>" not in pattern:
            continue
        url = address(name, pattern, records, special)
        sent = opened(client, url)
        digests = _digests(client.get(url).context["form"])
        again = client.post(url, {"as_shown": sent["as_shown"]})  # every box cleared: most fields differ from the record
        seen.add(name)
        if again.status_code == 200 and _digests(again.context["form"]) != digests:
            wrong.append(name)
        if again.status_code == 200 and "changed after you opened it" in again.content.decode():
            wrong.append(name)
    assert {"partner_edit", "site_edit", "round_edit", "tree_edit", "lot_edit", "authorization_edit"} <= seen
    assert wrong == []
