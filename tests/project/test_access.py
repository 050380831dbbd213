"""Every route as every person: 200 or a redirect, 403 for a wrong action, 404 for a row outside the scope, sign-in otherwise.

The expected answer is worked out here from the tables of who may do what and who is related how to the
rows, written out by hand; it is not read from the code that enforces it.
"""

import ast

import pytest
from django.apps import apps

from registry.access import roles
from tests import factories
from tests.people import names
from tests.places import PROJECT
from tests.project.access_table import API, EVERYONE, JSON_ONLY, OFFICE, PUBLIC, ROUTES, address, routes, walk, wrong_answers

pytestmark = pytest.mark.django_db


def test_every_route_is_in_the_table_with_its_action():
    names = {name for name, _pattern, _view in routes()}
    assert names - PUBLIC == set(ROUTES)
    for name, _pattern, view in routes():
        if name not in PUBLIC:
            assert view.callback.view_class.action in roles.ACTIONS, name


def test_every_page_needs_a_sign_in(client, shared_world):
    _people, records, special = shared_world
    for name, pattern, _view in routes():
        if name in PUBLIC:
            continue
        response = client.get(address(name, pattern, records, special))
        if name in JSON_ONLY:
            written = "application/problem+json" if name in API else "application/json"
            assert (response.status_code, response.headers["Content-Type"]) == (401, written), name
            continue
        assert response.status_code == 302 and response.url.startswith("/sign-in/"), name


def people_without_an_expected_answer():
    """Roles no group of this table names: nobody has said yet what they may do."""
    return set(roles.ROLES) - EVERYONE


def test_every_role_has_an_expected_answer():
    assert people_without_an_expected_answer() == set()


@pytest.mark.one_database  # what our table says of a role is the same on both
def test_a_new_role_is_walked_and_missed_in_the_table(client, monkeypatch, shared_world):
    monkeypatch.setattr(roles, "ROLES", roles.ROLES | {"guest": "Guest"})
    monkeypatch.setattr(roles, "ACTIONS", roles.ACTIONS | {"audit.view": roles.ACTIONS["audit.view"] | {"guest"}})
    assert "guest" in names()
    assert people_without_an_expected_answer() == {"guest"}
    _people, records, special = shared_world
    walked = walk(client, factories.person("guest"), records, special)
    assert [name for name, _status, _expected in wrong_answers(walked, "guest")] == ["audit_list"]


@pytest.mark.one_database  # whose rows somebody sees, test_every_page asks both databases
@pytest.mark.parametrize("who", [name for name in names() if name not in OFFICE])
def test_a_post_is_refused_as_a_get_is(client, who, shared_world):
    people, records, special = shared_world
    client.force_login(people[who])
    wrong = []
    for name, pattern, _view in routes():
        may, rows = ROUTES.get(name, (EVERYONE, None))
        if name in PUBLIC or (who in may and (rows is None or who in rows)):
            continue
        status = client.post(address(name, pattern, records, special), {}).status_code
        # a page that only shows refuses every post (405); nothing else may get through
        if status not in ({403} if who not in may else {404, 405}):
            wrong.append((name, status))
    assert wrong == []


def test_every_row_rule_names_known_roles():
    scopes = {model.__name__: set(model.SCOPE) for model in apps.get_models() if hasattr(model, "SCOPE")}
    assert {name: found - set(roles.ROLES) for name, found in scopes.items() if not found <= set(roles.ROLES)} == {}


@pytest.mark.one_database
def test_no_other_module_lists_roles():
    """A list of roles beside the table is one a new role is forgotten in."""
    constants = {name for name, value in vars(roles).items() if isinstance(value, str) and value in roles.ROLES}

    def is_role(node):
        return isinstance(node, ast.Attribute) and node.attr in constants and ast.unparse(node.value) == "roles"

    found = []
    for app in ("registry", "plantings"):
        for path in (PROJECT / app).rglob("*.py"):
            if path.match("access/roles.py"):
                continue
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.List | ast.Tuple | ast.Set):
                    texts = [one.value for one in node.elts if isinstance(one, ast.Constant)]
                    if sum(map(is_role, node.elts)) > 1 or len(set(texts) & (set(roles.ROLES) - {"landowner", "volunteer"})) > 1:
                        found.append(f"{path.relative_to(PROJECT)}, line {node.lineno}")
    assert found == []


def test_an_account_that_was_closed_is_signed_out(client):
    person = factories.person("lead")
    client.force_login(person)
    person.is_active = False
    person.save()
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("who", ["volunteer", "landowner", "manager", "unknown role"])
def test_the_code_box_finds_nothing_out_of_sight(client, who, shared_world):
    """A tag, a lot and a shipment of somebody else's land."""
    people, _records, _special = shared_world
    far = factories.planting()
    tree = factories.trees(far, count=1, tag="FAR-OFF")[0]  # with a hyphen, which the random token of a form has not
    client.force_login(people[who])
    response = client.get("/find/", {"q": tree.tag})
    if who == "unknown role":
        assert response.status_code == 403
    elif who == "manager":
        assert response.url == f"/trees/{tree.pk}/"
    else:
        page = response.content.decode()
        for repeated in ('value="FAR', "“FAR", "?q=FAR"):
            page = page.replace(repeated, "")
        assert response.status_code == 200 and "FAR-OFF" not in page
