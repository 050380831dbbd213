"""Every filter above a list changes which rows the list shows: a box that changes nothing is worse than no box."""

import pytest
from django.urls import get_resolver, reverse

from registry.forms.shared.filters import FilterForm
from registry.views.shared.lists import RecordListView
from tests import factories
from tests.project.test_sql_counts import one_more_of_everything

pytestmark = pytest.mark.django_db


def filtered_lists(patterns=None):
    """{route: view} of the lists with filters."""
    found = {}
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        view = getattr(getattr(pattern, "callback", None), "view_class", object)
        if hasattr(pattern, "url_patterns"):
            found |= filtered_lists(pattern.url_patterns)
        elif issubclass(view, RecordListView) and view.filter_form and "<" not in str(pattern.pattern):
            found[pattern.name] = view
    return found


def values(field):
    """Values of a box, of which at least one must change the list."""
    if hasattr(field, "queryset"):
        return [value for record in field.queryset[:1] for value in (record.pk, getattr(record, "code", None)) if value]
    if hasattr(field, "choices"):
        return [code for code, _label in field.choices if code not in (None, "")]
    return ["1950-01-01", "1950", "2150-01-01", "0", "F1", "no record has this"]


def shown(client, route, **query):
    """What a list page shows: its query to the database, or its rows where they are calculated."""
    rows = client.get(reverse(route), {"page": "1"} | query).context["paginator"].object_list
    return str(rows.query) if hasattr(rows, "query") else [str(row) for row in rows]


def test_every_filter_changes_what_its_list_shows(client):
    lead = factories.person("lead")
    client.force_login(lead)
    one_more_of_everything(lead)
    lists, idle = filtered_lists(), []
    assert len(lists) >= 20
    for route, view in lists.items():
        everything = shown(client, route)
        for name, field in view.filter_form().fields.items():
            if all(shown(client, route, **{name: value}) == everything for value in values(field)):
                idle.append(f"{route}: {name}")
    assert idle == []


def forms(parent=FilterForm):
    """The filter forms that no other form is built on."""
    for form in parent.__subclasses__():
        yield from forms(form) if form.__subclasses__() else [form]


def test_every_filter_form_is_above_a_list():
    used = {view.filter_form for view in filtered_lists().values()}
    assert [form.__name__ for form in forms() if form not in used] == []
