"""What the page of a round shows of its field form."""

from django.utils.translation import gettext_lazy as _

from plantings.models import SelfSown
from plantings.selectors.field_form.keyings import keyings_to_settle
from plantings.selectors.field_form.pages import scans_of_round
from plantings.views.census.asking import correction_url
from registry.views.shared.addresses import reverse_to
from registry.views.shared.sections import Section
from registry.views.shared.tables import Column, Link

PAGES_TO_SETTLE = Section(
    id="keyings",
    title="Pages keyed twice that differ",
    unit="pages",
    note="Two people keyed these pages of the field form, or one keyed a page whose records came another way. Settle each cell.",
    when=lambda page: page.object.to_settle and page.may("observation.review"),
    rows=lambda page: keyings_to_settle(page.user, page.object),
    mark=lambda keying: "odd",
    columns=(
        Column("Page", "page.code", kind="code", url=lambda keying: reverse_to("formpage_key", keying.page_id)),
        Column("Cells that differ", "differing", "right", "number"),
        Column("Keyed again by", lambda keying: str(keying.entered_by)),
        Column("Settle", lambda keying: "settle", url=Link("pagekeying_settle", "pk")),
    ),
)


def _self_sown(page):
    records = page.scoped(SelfSown).current().filter(round=page.object).select_related("entered_by")
    found = list(records.order_by("place", "observed_on", "pk"))
    for record in found:
        record.round = page.object
    return found


SELF_SOWN = Section(
    id="self-sown",
    title=_("Self-sown seedlings"),
    unit="places",
    note=_("They came up by themselves, and are in no figure of the planted trees."),
    when=lambda page: page.object.self_sown_places,
    rows=_self_sown,
    columns=lambda page, records: (
        Column(_("Where"), "place", wide=True),
        Column(_("Seedlings"), "seedlings", "right", "number"),
        Column(_("Seen on"), "observed_on", kind="date"),
        Column(_("Who looked"), lambda record: record.observer or str(record.entered_by)),
        Column(_("Note"), "note", wide=True),
        Column(
            _("Correct"), lambda record: _("correct it") if correction_url(page.user, record) else "", may="census.enter",
            url=lambda record: correction_url(page.user, record),
        ),
    ),
)  # fmt: skip

SCANS = Section(
    id="scans",
    title=_("Photos of the field form"),
    unit="files",
    when=lambda page: page.object.scanned,
    rows=lambda page: scans_of_round(page.user, page.object),
    columns=(
        Column(_("File"), "file.filename", url=lambda scan: reverse_to("formscan_file", scan.pk)),
        Column(_("Page"), lambda scan: scan.page.code if scan.page else "", kind="code", may="census.enter",
               url=lambda scan: reverse_to("formpage_key", scan.page_id) if scan.page_id else None),
        Column(_("Sent by"), lambda scan: str(scan.entered_by)),
        Column(_("Day"), "entered_at", kind="date"),
    ),
)  # fmt: skip
