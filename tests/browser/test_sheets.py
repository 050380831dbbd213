"""A sheet with other people's headers, from sending to storing, with the keyboard and mouse of a coordinator."""

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from registry.imports.sheets.sheet import Sheet
from registry.models import ColumnMapping, Job, Load, SheetUpload, Taxon
from registry.services.jobs import running
from registry.services.shared.progress import progress
from tests import factories
from tests.jobs import work_off

pytestmark = pytest.mark.django_db(transaction=True)

THEIRS = (
    "Art;Deutscher Name;Herkunft\nJuglans cinerea;Butternuss;heimisch\nJuglans ailantifolia;Japanische Walnuss;Japan\nJuglans nigra;;\n"
)


def test_a_sheet_is_mapped_shown_stored_and_its_rest_sent_again(page, sign_in, page_complaints):
    sign_in(factories.person("coordinator"))
    page.goto(reverse("sheet_list"))
    page.get_by_role("link", name="Taxa", exact=True).click()
    page.set_input_files("input[type=file]", {"name": "Arten.csv", "mimeType": "text/csv", "buffer": THEIRS.encode("utf-16")})
    page.get_by_role("button", name="Upload the sheet").click()
    assert "Which of its columns match ours" in page.locator("main").inner_text()
    page.select_option("[name=from_name]", "Art")
    page.select_option("[name=from_common_name]", "Deutscher Name")
    page.select_option("[name=from_role]", "Herkunft")
    page.locator("summary", has_text="for Role here").click()
    page.fill("[name=rule_role]", "heimisch = native\nJapan = donor")
    page.fill("[name=name]", "Artenliste")
    page.get_by_role("button", name="Preview").click()
    text = page.locator("main").inner_text()
    assert "Nothing is saved while a row is wrong" in text and "is blank, and a new row needs it" in text
    with page.expect_download() as download:
        page.locator(".error-summary").get_by_role("link", name="CSV").click()
    assert "What to correct" in download.value.path().read_text(encoding="utf-8-sig")
    # the mapping is still there, and is corrected: the third row alone stays wrong
    page.get_by_role("link", name="Change the column mapping").click()
    assert page.locator("[name=from_role]").input_value() == "Herkunft"
    assert "Artenliste" in page.get_by_role("link", name="Artenliste").inner_text()
    page.fill("[name=rule_role]", "heimisch = native\nJapan = donor")
    page.fill("[name=name]", "Artenliste")
    page.get_by_role("button", name="Preview").click()
    page.get_by_role("link", name="Set the wrong rows aside").click()
    assert not Taxon.objects.exists()
    page.get_by_role("button", name="Save 2 rows and set 1 aside").click()
    assert "Sheet saved: 2 new" in page.locator(".messages").inner_text()
    with page.expect_download() as download:
        page.get_by_role("link", name="Rest to correct, CSV").click()
    rest = download.value.path().read_text(encoding="utf-8-sig")
    page.get_by_role("link", name="Send the corrected rest").click()
    corrected = rest.replace("Juglans nigra;;;", "Juglans nigra;;Japan;").encode()
    page.set_input_files("input[type=file]", {"name": "rest.csv", "mimeType": "text/csv", "buffer": corrected})
    page.get_by_role("button", name="Upload the sheet").click()
    page.get_by_role("button", name="Save 1 row").click()
    assert "Sheet saved: 1 new" in page.locator(".messages").inner_text()
    assert Load.objects.earliest("pk").settled.get().count == 1
    assert dict(Taxon.objects.values_list("name", "role")) == {
        "Juglans cinerea": "native",
        "Juglans ailantifolia": "donor",
        "Juglans nigra": "donor",
    }
    assert ColumnMapping.objects.get().name == "Artenliste"
    # the file is stored as it came
    upload = SheetUpload.objects.earliest("uploaded_at")
    with upload.file.open("rb") as file:
        assert file.read() == THEIRS.encode("utf-16")
    assert page_complaints == []


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("letter.pdf", b"%PDF-1.7 not a sheet", "is a PDF"),
        ("empty.csv", b"Binomial,Role here\n", "no rows below"),
        ("zeros.csv", b"\0" * 100_000, "is not a text sheet"),
    ],
)
def test_a_wrong_file_gets_one_sentence_and_is_not_lost(page, sign_in, name, content, says):
    sign_in(factories.person("lead"))
    page.goto(reverse("sheet_send", args=["taxon"]))
    page.set_input_files("input[type=file]", {"name": name, "mimeType": "application/octet-stream", "buffer": content})
    page.get_by_role("button", name="Upload the sheet").click()
    assert says in page.locator(".error-summary").inner_text()
    assert SheetUpload.objects.get().filename == name


def test_after_errors_the_focus_is_on_their_summary(page, sign_in, page_complaints):
    sign_in(factories.person("lead"))
    summary = page.locator(".error-summary")
    page.goto(reverse("taxon_add"))
    page.get_by_role("button", name="Save").click()
    expect(summary).to_be_focused()
    page.goto(reverse("sheet_send", args=["taxon"]))
    page.set_input_files("input[type=file]", {"name": "Arten.csv", "mimeType": "text/csv", "buffer": THEIRS.encode("utf-16")})
    page.get_by_role("button", name="Upload the sheet").click()
    expect(summary).to_have_count(0)
    page.get_by_role("button", name="Preview").click()
    expect(summary).to_be_focused()
    assert page_complaints == []


def test_a_long_sheet_is_left_come_back_to_and_cancelled(page, sign_in, settings, tmp_path, monkeypatch):
    """The worker is in the test: it goes on while the page is elsewhere, and meets the cancelling on the next row."""
    settings.LONG_SHEET_ROWS, settings.DATA_DIR, settings.JOB_RESULTS = 2, tmp_path, tmp_path / "results"
    sign_in(factories.person("coordinator"))
    page.goto(reverse("sheet_send", args=["taxon"]))
    rows = b"Name,Role\nJuglans a,native\nJuglans b,native\nJuglans c,other\n"
    page.set_input_files("input[type=file]", {"name": "taxa.csv", "mimeType": "text/csv", "buffer": rows})
    page.get_by_role("button", name="Upload the sheet").click()
    preview = page.url
    page.get_by_role("button", name="Check this sheet").click()
    assert page.get_by_role("progressbar").is_visible() and page.locator(".sheet-what .state").inner_text() == "waiting to start"
    Job.objects.update(state="running", started_at=timezone.now())
    expect(page.locator(".sheet-what .state")).to_have_text("under way")
    Job.objects.update(state="waiting", started_at=None)
    work_off()
    page.wait_for_url(preview)  # the script goes on to the result
    page.get_by_role("button", name="Save 3 rows").click()
    bar = page.url
    monkeypatch.setattr(running, "SAY_EVERY", 0.0)
    before = Sheet.save_row

    def save_row(*args):
        page.goto(bar)
        assert "of 3 rows" in page.locator("[data-job]").inner_text()
        page.get_by_role("link", name="Cancel it").click()
        page.get_by_role("button", name="Cancel the job").click()
        progress("The next row")
        return before(*args)

    monkeypatch.setattr(Sheet, "save_row", save_row)
    page.goto(reverse("today"))
    work_off()
    page.goto(bar)
    assert "cancelled" in page.locator("main").inner_text() and not Taxon.objects.exists()
