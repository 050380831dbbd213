"""People with an account. The office makes every account, and none is deleted."""

import datetime

from django.core.exceptions import PermissionDenied
from django.forms import Form
from django.utils import timezone
from django.utils.functional import cached_property

from registry.access import roles
from registry.access.sign_in import WRONG_IN_A_ROW, locked_until
from registry.calc.shared.links import tel_address
from registry.calc.shared.screen import moment_words
from registry.forms.people.people import PersonForm
from registry.forms.shared.filters import PersonFilters
from registry.imports.kinds import PersonSheet
from registry.models import Person
from registry.services.people.people import person_link_send, person_save
from registry.services.people.sign_in import sign_in_unlock
from registry.views.people.token_parts import PERSON_TOKENS
from registry.views.shared.addresses import yes_no
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column, Link

PEOPLE_LISTS = (
    ("People", "person.view", "person_list"),
    ("Access tokens", "token.view", "accesstoken_list"),
    ("Changes", "audit.view", "audit_list"),
)


def change_action(person):
    """The action needed to change an account. Only a lead changes the account of a lead, since it may do everything."""
    return "lead.edit" if person.role == roles.LEAD else "person.edit"


class PersonListView(RecordListView):
    model = Person
    action = "person.view"
    title = "People"
    question = "Who has an account, and what do they do?"
    unit = "people"
    sheet = PersonSheet
    filter_form = PersonFilters
    others = PEOPLE_LISTS
    add = ("New person", "person.edit", "person_add")
    related = ("partner",)
    row_mark = staticmethod(lambda person: "" if person.is_active else "soft")
    columns = (
        Column("Name", str, url=Link("person_detail")),
        Column("Role", "role_label"),
        Column("Sign-in name", "username"),
        Column("Partner", "partner.name"),
        Column("Active", lambda person: yes_no(person.is_active)),
        Column("Last signed in", "last_login", kind="date"),
    )


class PersonDetailView(RecordDetailView):
    model = Person
    action = "person.view"
    question = "Who is this, and what may they do?"
    related = ("partner",)
    state = "role_label"
    where = property(lambda page: "" if page.object.is_active else "no longer active")
    facts = (
        Fact("Sign-in name", "username"),
        Fact("E-mail", "email", lambda page: f"mailto:{page.object.email}", always=True),
        Fact("Phone", "phone", lambda page: tel_address(page.object.phone)),
        Fact("Partner", "partner.name", Link("partner_detail", "partner_id", "partner.view")),
        Fact("Active", "is_active"),
        Fact("Left on", "left_on"),
        Fact("Account since", lambda page: timezone.localdate(page.object.date_joined)),
        Fact("Last signed in", lambda page: timezone.localdate(page.object.last_login) if page.object.last_login else "never"),
        Fact("Sign-in", lambda page: locked_words(page.locked_until)),
        Fact("Who changes this account", lambda page: "" if page.may(change_action(page.object)) else "programme leads only"),
    )
    actions = (
        Action("Change the person", "person_edit", "person.view", when=lambda page: page.may(change_action(page.object))),
        Action(
            "Send a link to set the password", "person_link", "person.view",
            when=lambda page: page.may(change_action(page.object)) and page.object.is_active and page.object.email,
        ),
        Action("Unlock the sign-in", "person_unlock", "person.edit", when=lambda page: page.locked_until is not None),
        Action("Their changes", "audit_list", "audit.view", key=None, query=lambda page: {"person": page.object.username}),
    )  # fmt: skip

    sections = (PERSON_TOKENS,)

    locked_until = cached_property(lambda page: locked_until(page.object.username, timezone.now()))


def locked_words(until):
    """Why somebody cannot sign in, and when that ends; "" when they can."""
    if until is None:
        return ""
    if until.year == datetime.MAXYEAR:
        return f"locked after {WRONG_IN_A_ROW} wrong passwords, until it is unlocked or a new one is set by mail"
    return f"locked after wrong passwords until {moment_words(timezone.localtime(until))}"


class PersonFormView(RecordFormView):
    model = Person
    action = "person.edit"
    form_class = PersonForm
    service = person_save
    argument = "person"

    def find_rows(self):
        if self.record and not self.may(change_action(self.record)):
            raise PermissionDenied

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        if not self.may("lead.edit"):
            role = form.fields["role"]
            role.choices = [choice for choice in role.choices if choice[0] != roles.LEAD]
            role.help_text = "Only a programme lead can make somebody a programme lead."
        if form.instance == self.user:
            # so that nobody locks themselves out by mistake: a colleague changes these
            for name in ("role", "partner", "is_active"):
                form.fields[name].disabled = True
        return form

    @property
    def success_message(self):
        return "Person saved." if "pk" in self.kwargs else "Person saved. Now send them the link to set their password."


class PersonUnlockView(RecordActionView):
    model = Person
    action = "person.edit"
    form_class = Form
    service = sign_in_unlock
    confirm = True
    title = "Unlock the sign-in of {object}"
    submit_label = "Unlock the sign-in"
    success_message = "Unlocked. {object} can sign in again."

    @property
    def text(self):
        return (
            f"Somebody entered wrong passwords for {self.object.username}. Ask {self.object} whether it was them before you unlock. "
            "If it was not, the lock keeps somebody out: leave it, or send a link to set a new password."
        )


class PersonLinkView(RecordActionView):
    model = Person
    action = "person.edit"
    form_class = Form
    service = person_link_send
    confirm = True
    title = "Link for {object}"
    submit_label = "Send a link to set the password"
    success_message = "Link sent to {object.email}."
    text = "{object.email} gets a mail with a link to set a password. It works once. The old password works until then."

    def find_rows(self):
        super().find_rows()
        if not self.may(change_action(self.object)):
            raise PermissionDenied

    def values(self, form):
        return {"domain": self.request.get_host(), "secure": self.request.is_secure()}
