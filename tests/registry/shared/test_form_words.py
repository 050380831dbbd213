"""What forms say: the button names what is saved, the message names what was, and a long list is searched."""

import re

import pytest
from django.urls import reverse

from registry.forms.gate.code_lists import TICKED_MOST
from registry.selectors.gate.code_lists import ACTIVITY_CODES, FORM_CODES
from registry.views.shared.forms import RecordFormView, ServiceFormMixin
from tests import factories
from tests.project.access_table import routes

VIEWS = {getattr(pattern.callback, "view_class", object) for _name, _path, pattern in routes()}
FORMS = sorted((view for view in VIEWS if issubclass(view, RecordFormView)), key=lambda view: view.__name__)


def test_the_forms_are_found():
    assert len(FORMS) > 15


@pytest.mark.parametrize("view", FORMS, ids=lambda view: view.__name__)
def test_a_form_of_a_record_says_what_it_saves(view):
    assert view.submit_label != ServiceFormMixin.submit_label
    assert view.success_message != ServiceFormMixin.success_message


@pytest.mark.django_db
def test_saving_a_site_names_the_site(client):
    lead = factories.person("lead")
    client.force_login(lead)
    site = factories.site(code="ST-77")
    response = client.get(reverse("site_edit", args=[site.pk]))
    form = response.context["form"]
    sent = {box.html_name: box.value() if box.value() is not None else "" for box in form}
    answer = client.post(reverse("site_edit", args=[site.pk]), sent | {"name": "Kettle field", "reason": "typing error"}, follow=True)
    assert "Site ST-77 saved." in answer.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("route", ["authorization_add", "requirement_add"])
def test_a_list_of_more_than_seven_is_searched_and_a_short_one_ticked(client, route):
    assert len(ACTIVITY_CODES.options()) > TICKED_MOST >= len(FORM_CODES.options())
    client.force_login(factories.person("lead"))
    page = client.get(reverse(route)).content.decode()
    assert '<select name="activities" data-picker' in page
    assert 'type="checkbox" name="forms"' in page


@pytest.mark.django_db
def test_a_box_that_may_stay_empty_is_called_optional(client):
    client.force_login(factories.person("coordinator"))
    page = client.get(reverse("shipment_add")).content.decode()
    assert re.search(r"Note <span[^>]*>\(optional\)", page) and "if known" not in page
