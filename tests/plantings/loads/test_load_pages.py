"""The pages of a load: set aside on the preview, the rest down and up again, Today, leaving the rest out, withdrawing."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plantings.selectors.overview.load_lines import rest_lines
from registry.models import Load, PedigreeTree, Taxon
from tests import factories

pytestmark = pytest.mark.django_db

WRONG = b"Art,Rolle\nJuglans a,native\nJuglans b,nativ\nJuglans c,nativ\n"
COLUMNS = {"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD", "from_name": "Art", "from_role": "Rolle"}


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def send(client, content, query="", name="taxa.csv", kind="taxon"):
    return client.post(reverse("sheet_send", args=[kind]) + query, {"file": SimpleUploadedFile(name, content)}).url


def loaded(client):
    """A load of one row, with two rows out."""
    columns = send(client, WRONG)
    preview = client.post(columns, COLUMNS).url
    assert b"?aside=1" in client.get(preview).content
    page = client.get(preview + "?aside=1")
    assert page.context["submit_label"] == "Save 1 row and set 2 aside"
    assert [part["title"] for part in page.context["parts"]] == ["Rows set aside", "New rows"]
    address = client.post(preview + "?aside=1", {"shown": page.context["form"].initial["shown"]}).url
    return Load.objects.get(), address


def test_wrong_rows_are_set_aside_and_come_again(client, lead):
    load, address = loaded(client)
    assert address == reverse("load_detail", args=[load.pk]) and Taxon.objects.get().name == "Juglans a"
    page = client.get(address).content.decode()
    assert "2 rows still out" in page and "1 new, 2 set aside" in page and "Juglans a" in page
    [line] = rest_lines(lead)
    assert line.url == address and line.mine and line.text.startswith("2 rows of taxa.csv, loaded on ")
    assert line.text in client.get(reverse("today")).content.decode()
    rest = client.get(reverse("load_rest", args=[load.pk, "csv"])).getvalue()
    assert rest.decode("utf-8-sig").splitlines()[0] == "Art,Rolle,What to correct"
    # the rest says itself which load it is of, so its columns need no matching again
    preview = send(client, rest.replace(b"nativ,", b"native,"), name="rest.csv")
    assert preview.startswith("/sheets/sent/") and not preview.endswith("columns/")
    client.post(preview, {"shown": client.get(preview).context["form"].initial["shown"]})
    assert Taxon.objects.count() == 3 and not list(rest_lines(lead))
    assert "came with a load" in client.get(address).content.decode()
    assert client.get(reverse("load_rest", args=[load.pk, "csv"])).status_code == 404


def test_a_coordinator_reads_of_their_own_rest_and_the_lead_of_all(client, lead):
    loaded(client)
    coordinator = factories.person("coordinator")
    assert not list(rest_lines(coordinator))
    [line] = rest_lines(factories.person("lead"))
    assert not line.mine and line.who == str(lead)


def test_the_rest_is_left_out_with_a_reason_and_a_load_withdrawn(client, lead):
    load, address = loaded(client)
    leave = reverse("load_leave_out", args=[load.pk])
    assert client.post(leave, {"reason": ""}).context["form"].errors
    assert client.post(leave, {"reason": "notes, no species"}).url == address
    withdraw = reverse("load_withdraw", args=[load.pk])
    assert client.get(withdraw).context["cautions"] == []
    factories.pedigree_tree(taxon=Taxon.objects.get())
    assert "rests on it" in client.get(withdraw).content.decode()
    refused = client.post(withdraw, {"reason": "wrong file"})
    assert refused.status_code == 200 and "rests on it" in str(refused.context["form"].errors)
    PedigreeTree.objects.all().delete()
    assert client.post(withdraw, {"reason": "wrong file"}).url == address
    assert not Taxon.objects.filter(name="Juglans a").exists() and "withdrawn" in client.get(address).content.decode()
    assert "withdrawn" in client.get(reverse("load_list")).content.decode()


def test_a_manager_sees_no_load_of_the_census(client, lead):
    load, address = loaded(client)
    planting = factories.planting(code="P")
    tree = factories.trees(planting, factories.stock_lot(actor=lead, plants=3), 1, actor=lead)[0]
    one = factories.census_round(planting)
    text = f"Planting,Season,Tag,Status,Observed on\nP,{one.label},{tree.tag},A,{one.opens_on.isoformat()}\n"
    preview = send(client, text.encode(), kind="census", name="census.csv")
    census = client.post(preview, {"shown": client.get(preview).context["form"].initial["shown"]}).url
    client.force_login(factories.person("manager"))
    assert client.get(address).status_code == 200 and client.get(census).status_code == 404
    listed = client.get(reverse("load_list")).content.decode()
    assert load.filename in listed and "census.csv" not in listed
    assert io.BytesIO(client.get(reverse("load_rest", args=[load.pk, "xlsx"])).getvalue()).read(2) == b"PK"
