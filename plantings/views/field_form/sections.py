"""What the page of a round shows of its field form."""

from plantings.selectors.field_form.keyings import keyings_to_settle
from registry.views.shared.addresses import reverse_to
from registry.views.shared.sections import Section
from registry.views.shared.tables import Column, Link

PAGES_TO_SETTLE = Section(
    id="keyings",
    title="Pages keyed twice that differ",
    unit="pages",
    note="Two people keyed these pages of the field form. Look at the paper and settle each cell.",
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
