"""What forms and pages declare fits: words, where they lead, and the service they call."""

import inspect
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from registry.views.shared.addresses import route_of
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, ServiceForm, address_of, with_file_read
from registry.views.shared.words import words_of
from tests import factories
from tests.project.access_table import routes

VIEWS = {name: getattr(pattern.callback, "view_class", object) for name, _path, pattern in routes()}
FORMS = sorted({view for view in VIEWS.values() if issubclass(view, ServiceForm) and view.service}, key=lambda view: view.__name__)


class Page:
    title = "Close {object.code}"
    question = property(lambda page: f"Why is {page.object.code} closed?")

    def __init__(self, code):
        self.object = SimpleNamespace(code=code)


def test_a_text_names_the_record_and_a_property_is_taken_as_it_is():
    page = Page("L{0}")
    assert words_of(page, "title") == "Close L{0}"
    assert words_of(page, "question") == "Why is L{0} closed?"


def test_a_file_goes_to_the_service_as_content_and_name():
    file = SimpleUploadedFile("permit.pdf", b"%PDF-1.7")
    assert with_file_read({"title": "Permit", "file": file}) == {"title": "Permit", "content": b"%PDF-1.7", "filename": "permit.pdf"}
    assert with_file_read({"title": "Permit", "file": None}) == {"title": "Permit"}


def test_the_page_of_a_record_is_found_from_its_type():
    pages = {name: view.model for name, view in VIEWS.items() if name and name.endswith("_detail") and issubclass(view, RecordDetailView)}
    assert len(pages) > 25
    assert {name: route_of(model) for name, model in pages.items() if name != f"{route_of(model)}_detail"} == {}


@pytest.mark.django_db
def test_a_form_leads_to_a_record_or_a_list():
    taxon = factories.taxon()
    assert address_of(taxon) == reverse("taxon_detail", args=[taxon.pk])
    assert address_of("taxon_list") == reverse("taxon_list")


def test_every_form_has_a_service_or_a_way_of_its_own():
    forms = {view for view in VIEWS.values() if issubclass(view, ServiceForm)}
    own = {view for view in forms if view.form_valid is not ServiceForm.form_valid or view.perform is not ServiceForm.perform}
    assert len(FORMS) > 80
    assert {view.__name__ for view in forms - own if view.service is None} == set()


@pytest.mark.parametrize("view", FORMS, ids=lambda view: view.__name__)
def test_a_form_names_an_argument_that_its_service_takes(view):
    taken = inspect.signature(view.service).parameters
    if view.arguments in (ServiceForm.arguments, RecordActionView.arguments) and issubclass(view, RecordActionView):
        argument = view.argument if isinstance(view.argument, str) else view.model._meta.model_name
        assert argument in taken
    assert {"actor", "link"} & set(taken)
