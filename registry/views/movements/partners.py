"""Partners: landowners, nurseries, agencies, schools."""

from django.urls import reverse

from registry.calc.shared.screen import day_words
from registry.forms.movements.partners import PartnerForm
from registry.forms.shared.filters import PartnerFilters
from registry.imports.kinds import PartnerSheet
from registry.models import Partner, Person, Shipment
from registry.selectors.duties.duty_line import Duty
from registry.views.land.parts import partner_land_parts
from registry.views.movements.shipments import MOVEMENT_LISTS, shipment_url
from registry.views.shared.generic import RecordDetailView, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionFormView, SectionListView, allowed
from registry.views.shared.tables import Column, ledger_table


def address_words(partner):
    """The address in one line."""
    return ", ".join(line.strip() for line in partner.address.splitlines() if line.strip())


def partner_url(partner):
    return reverse("partner_detail", args=[partner.pk])


class PartnerListView(SectionListView):
    model = Partner
    action = "partner.view"
    title = "Partners"
    question = "Who outside the programme has its material?"
    unit = "partners"
    filter_form = PartnerFilters
    others = MOVEMENT_LISTS
    add = ("New partner", "partner.edit", "partner_add")
    empty = ("No partner yet", "Enter the landowners and nurseries that receive seed or plants.", None)
    columns = (
        Column("Partner", "code", kind="code", url=partner_url),
        Column("Name", "name"),
        Column("Kind", "get_kind_display"),
        Column("On shared maps", "get_map_privacy_display"),
    )

    @property
    def sheet(self):
        # the sheet holds the contacts, so it goes to those who may read them
        return PartnerSheet if self.request.user.may("partner.contact") else None


class PartnerDetailView(RecordDetailView):
    model = Partner
    action = "partner.view"
    question = "Who are they, what did they get, and whom do I call?"

    def get_title(self):
        return self.object.name

    def get_page(self):
        partner, user = self.object, self.request.user
        contacts, land = user.may("partner.contact"), partner_land_parts(user, partner)
        return {
            "code": partner.code,
            "state": partner.get_kind_display(),
            "due": self.get_due() if contacts else [],
            "actions": [
                *allowed(user, ("Change the partner", "partner.edit", reverse_to("partner_edit", partner.pk))),
                *land["actions"],
            ],
            "facts": [
                *(self.get_contacts() if contacts else []),
                ("On shared maps", partner.get_map_privacy_display(), None),
                ("Note", partner.note, None),
            ],
            "parts": [self.shipments_table(), *([self.people_table()] if user.may("person.view") else []), *land["parts"]],
        }

    def get_due(self):
        partner = self.object
        kept = partner.contact_name or partner.email or partner.phone or partner.address
        return [Duty("odd", "Contacts are kept here, and no consent to keep them is dated.")] if kept and not partner.consent_on else []

    def get_contacts(self):
        partner = self.object
        return [
            ("Contact", partner.contact_name, None),
            ("E-mail", partner.email, f"mailto:{partner.email}" if partner.email else None),
            ("Phone", partner.phone, f"tel:{partner.phone.replace(' ', '')}" if partner.phone else None),
            ("Address", address_words(partner), None),
            ("Consent to keep contacts", f"given {day_words(partner.consent_on)}" if partner.consent_on else "", None),
        ]

    def shipments_table(self):
        columns = (
            Column("Shipment", "code", kind="code", url=shipment_url),
            Column("State", "get_state_display", kind="state"),
            Column("Left on", "dispatched_on", kind="date"),
            Column("Quantity (seeds or plants)", "quantity", "right", "number"),
            Column("Receipts", "receipts_count", "right", "number"),
        )
        shipments = self.scoped(Shipment).for_list().filter(receiver=self.object)[:PART_ROWS_MAX]
        return ledger_table("Shipments to them", columns, shipments, unit="shipments", empty="Nothing was sent to them yet.")

    def people_table(self):
        columns = (
            Column("Name", str, url=lambda person: reverse_to("person_detail", person.pk)),
            Column("Sign-in name", "username"),
            Column("Active", lambda person: "yes" if person.is_active else "no"),
        )
        people = self.scoped(Person).filter(partner=self.object)
        return ledger_table("Accounts", columns, people, unit="people", empty="Nobody of theirs has an account.")


class PartnerFormView(SectionFormView):
    model = Partner
    action = "partner.edit"
    form_class = PartnerForm
    submit_label = "Save the partner"
