"""Partners: landowners, nurseries, agencies, schools."""

from django.utils.translation import gettext_lazy as _

from registry.calc.shared.links import tel_address
from registry.choices import PartnerKind
from registry.forms.movements.partners import PartnerForm
from registry.forms.shared.filters import PartnerFilters
from registry.imports.kinds import PartnerSheet
from registry.models import Partner, Person, Shipment
from registry.selectors.duties.duty_line import Duty
from registry.views.land.sections import PARTNER_LINKS, PARTNER_NOTICES
from registry.views.movements.shipments import MOVEMENT_LISTS
from registry.views.shared.addresses import yes_no
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link


def address_words(partner):
    """The address in one line."""
    return ", ".join(line.strip() for line in partner.address.splitlines() if line.strip())


class PartnerListView(RecordListView):
    model = Partner
    action = "partner.view"
    title = _("Partners")
    question = _("Who outside the programme receives its seed and plants?")
    filter_form = PartnerFilters
    others = MOVEMENT_LISTS
    add = ("New partner", "partner.edit", "partner_add")
    empty = (_("No partner yet"), _("Enter the landowners and nurseries that receive seed or plants."), None)
    columns = (
        Column(_("Partner"), "code", kind="code", url=Link("partner_detail")),
        Column(_("Name"), "name"),
        Column(_("Kind"), "get_kind_display"),
        Column(_("On shared maps"), "get_map_privacy_display"),
    )

    # the sheet holds the contacts, so it goes to those who may read them
    sheet = property(lambda page: PartnerSheet if page.may("partner.contact") else None)


class PartnerDetailView(RecordDetailView):
    model = Partner
    action = "partner.view"
    question = _("Who are they, what did we send them, and how do we reach them?")
    state = "get_kind_display"
    title = "{object.name}"
    facts = (
        Fact(_("Contact"), "contact_name", may="partner.contact", always=True),
        Fact(_("E-mail"), "email", lambda page: f"mailto:{page.object.email}", may="partner.contact"),
        Fact(_("Phone"), "phone", lambda page: tel_address(page.object.phone), may="partner.contact"),
        Fact(_("Address"), lambda page: address_words(page.object), may="partner.contact"),
        Fact(_("Consent to store contacts given on"), "consent_on", may="partner.contact"),
        Fact(_("Country or subdivision"), "region"),
        Fact(_("County"), "county"),
        Fact(_("On shared maps"), "get_map_privacy_display"),
        Fact(_("Note"), "note"),
    )
    actions = (
        Action("Change the partner", "partner_edit", "partner.edit"),
        Action(
            _("One page for the landowner"), "partner_one_page", "partner.view", when=lambda page: page.object.kind == PartnerKind.LANDOWNER
        ),
        Action("Make a private link", "partner_link", "link.edit"),
        Action("Enter a message from them", "partner_notice", "landnotice.edit"),
    )
    sections = (
        Section(
            title=_("Shipments to them"),
            unit="shipments",
            rows=lambda page: page.scoped(Shipment).for_list().filter(receiver=page.object),
            most=PART_ROWS_MAX,
            columns=(
                Column(_("Shipment"), "code", kind="code", url=Link("shipment_detail")),
                Column(_("State"), "get_state_display", kind="state"),
                Column(_("Left on"), "dispatched_on", kind="date"),
                Column(_("Quantity (seeds or plants)"), "quantity", "right", "number"),
                Column(_("Receipts"), "receipts_count", "right", "number"),
            ),
            missing=_("shipments"),
        ),
        Section(
            title="Accounts",
            unit="people",
            may="person.view",
            rows=lambda page: page.scoped(Person).filter(partner=page.object),
            columns=(
                Column("Name", str, url=Link("person_detail")),
                Column("Sign-in name", "username"),
                Column("Active", lambda person: yes_no(person.is_active)),
            ),
            missing="accounts",
            add=Action("Add a person", "person_add", "person.edit", key=None),
        ),
        PARTNER_NOTICES,
        PARTNER_LINKS,
    )

    def get_due(self):
        partner = self.object
        on_file = partner.contact_name or partner.email or partner.phone or partner.address
        if not on_file or partner.consent_on or not self.may("partner.contact"):
            return []
        return [Duty("odd", _("Contacts are on file, but no day on which they agreed to that."))]


class PartnerFormView(RecordFormView):
    model = Partner
    action = "partner.edit"
    form_class = PartnerForm
