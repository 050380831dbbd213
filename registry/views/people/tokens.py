"""Access tokens: the list, issuing one and revoking it."""

from django.urls import reverse

from registry.forms.people.tokens import TokenForm, TokenRevokeForm
from registry.models import AccessToken, Person
from registry.services.people.tokens import token_issue, token_revoke
from registry.views.people.people import PEOPLE_LISTS
from registry.views.people.token_parts import TOKEN_COLUMNS
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.shown_once import ShownOnceView
from registry.views.shared.tables import Column, Link


class AccessTokenListView(RecordListView):
    model = AccessToken
    action = "token.view"
    title = "Access tokens"
    question = "Which programs may read the results, with whose rights, and until when?"
    unit = "tokens"
    others = PEOPLE_LISTS
    related = ("person", "entered_by")
    empty = ("No access tokens yet", "A programme lead issues one on the page of the person whose rights it has.", None)
    columns = (Column("Person", lambda token: str(token.person), url=Link("person_detail", "person_id")), *TOKEN_COLUMNS)


class PersonTokenView(ShownOnceView):
    model = Person
    action = "token.edit"
    form_class = TokenForm
    argument = "person"
    title = "Access token for {object}"
    question = "Which program reads the results in the name of this person?"
    submit_label = "Issue the token"
    service = token_issue
    shown_template = "registry/people/token_issued.html"
    shown_question = "The token is shown only once. Copy it now."
    cautions = (
        {
            "title": "A token is a key",
            "lines": [
                "Whoever has the token reads the results, sites, plantings and lots as this person does. They cannot change anything.",
                "Send it only to this person. If someone else may have it, revoke it and issue another.",
            ],
        },
    )

    def shown(self, key):
        return {"secret": key, "example": self.request.build_absolute_uri(reverse("api_openapi"))}


class AccessTokenRevokeView(RecordActionView):
    model = AccessToken
    action = "token.edit"
    form_class = TokenRevokeForm
    title = "Revoke the {object}"
    question = "The token stops working at once and cannot be restored. Issue another one instead."
    submit_label = "Revoke the token"
    success_message = "Token revoked."
    service = token_revoke
    argument = "token"
    back_to = property(lambda page: page.object.person)
