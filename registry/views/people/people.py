"""People with an account. Nobody registers themselves, and nobody is deleted."""

from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.forms import Form
from django.urls import reverse

from registry.access import roles
from registry.calc.shared.screen import day_words
from registry.forms.people.people import PersonForm
from registry.forms.shared.filters import PersonFilters
from registry.imports.kinds import PersonSheet
from registry.models import Person
from registry.services.people.people import person_link_send, person_save
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, yes_no
from registry.views.shared.tables import Column

LEADS_ONLY = ("Who changes this account", "programme leads only", None)
PEOPLE_LISTS = (("People", "person.view", "person_list"), ("Changes", "audit.view", "audit_list"))


def change_action(person):
    """The action it takes to change an account: with that of a lead goes everything a lead may do."""
    return "lead.edit" if person.role == roles.LEAD else "person.edit"


class PersonListView(SectionListView):
    model = Person
    action = "person.view"
    title = "People"
    question = "Who has an account, and what do they do?"
    unit = "people"
    sheet = PersonSheet
    filter_form = PersonFilters
    others = PEOPLE_LISTS
    add = ("New person", "person.edit", "person_add")
    columns = (
        Column("Name", str, url=lambda person: reverse("person_detail", args=[person.pk])),
        Column("Sign-in name", "username"),
        Column("Role", "role_label"),
        Column("Partner", "partner.name"),
        Column("Active", lambda person: yes_no(person.is_active)),
        Column("Last signed in", "last_login", kind="date"),
    )

    def get_queryset(self):
        return super().get_queryset().select_related("partner")

    def row_mark(self, person):
        return "" if person.is_active else "soft"


class PersonDetailView(RecordDetailView):
    model = Person
    action = "person.view"
    question = "Who is this, and what may they do?"

    def get_queryset(self):
        return super().get_queryset().select_related("partner")

    def get_page(self):
        person = self.object
        partner = person.partner
        changes = f"{reverse('audit_list')}?{urlencode({'person': person.username})}"
        changed_by = change_action(person)
        send = (
            [("Send a link to set the password", changed_by, reverse_to("person_link", person.pk))]
            if person.is_active and person.email
            else []
        )
        return {
            "state": person.role_label,
            "where": "" if person.is_active else "no longer active",
            "actions": allowed(
                self.request.user,
                *send,
                ("Change the person", changed_by, reverse_to("person_edit", person.pk)),
                ("Their changes", "audit.view", changes),
            ),
            "facts": [
                ("Sign-in name", person.username, None),
                ("E-mail", person.email, f"mailto:{person.email}" if person.email else None),
                ("Phone", person.phone, None),
                ("Partner", partner.name if partner else "none", reverse_to("partner_detail", partner.pk) if partner else None),
                ("Active", yes_no(person.is_active), None),
                ("Account since", f"{day_words(person.date_joined)}", None),
                ("Last signed in", f"{day_words(person.last_login)}" if person.last_login else "never", None),
                *([] if self.request.user.may(changed_by) else [LEADS_ONLY]),
            ],
        }


class PersonFormView(SectionFormView):
    model = Person
    action = "person.edit"
    form_class = PersonForm
    submit_label = "Save the person"

    def get_form(self, form_class=None):
        if self.record and not self.request.user.may(change_action(self.record)):
            raise PermissionDenied
        form = super().get_form(form_class)
        if not self.request.user.may("lead.edit"):
            role = form.fields["role"]
            role.choices = [choice for choice in role.choices if choice[0] != roles.LEAD]
            role.help_text = "Only a programme lead gives somebody the role of programme lead."
        if form.instance == self.request.user:
            # nobody shuts themselves out by a slip; a colleague does it
            for name in ("role", "partner", "is_active"):
                form.fields[name].disabled = True
        return form

    def save(self, record, many, form):
        return person_save(actor=self.request.user, person=record)

    def get_success_message(self):
        return "Saved." if "pk" in self.kwargs else "Saved. Now send them the link to set their password."


class PersonLinkView(RecordActionView):
    model = Person
    action = "person.edit"
    form_class = Form
    template_name = "generic/confirm.html"
    submit_label = "Send a link to set the password"

    def get_title(self):
        return f"Link for {self.object}"

    def get_form(self, form_class=None):
        if not self.request.user.may(change_action(self.object)):
            raise PermissionDenied
        return super().get_form(form_class)

    def perform(self, form):
        request = self.request
        return person_link_send(actor=request.user, person=self.object, domain=request.get_host(), secure=request.is_secure())

    def get_success_message(self):
        return f"A link is on its way to {self.object.email}."

    def get_context_data(self, **kwargs):
        text = f"A mail goes to {self.object.email}, with a link to set a password. It works once. The old password works until then."
        return super().get_context_data(**kwargs) | {"text": text}
