"""What the list of access tokens and the page of a person show of a token."""

from django.utils import timezone

from registry.access.active import is_active_on
from registry.models import AccessToken
from registry.selectors.people.tokens import token_words
from registry.views.shared.addresses import reverse_to
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column


def _revoke_url(token):
    return None if token.revoked_at else reverse_to("accesstoken_revoke", token.pk)


TOKEN_COLUMNS = (
    Column("For", "purpose"),
    Column("State", lambda token: token_words(token, timezone.localdate()), kind="state"),
    Column("Issued on", "entered_at", kind="date"),
    Column("Issued by", lambda token: str(token.entered_by or "")),
    Column("Last used on", "used_on", kind="date"),
    Column("Change", lambda token: "" if token.revoked_at else "revoke", url=_revoke_url, may="token.edit"),
)
PERSON_TOKENS = Section(
    title="Access tokens",
    unit="tokens",
    may="token.view",
    note="A program that sends a token reads the results as this person does. A token is shown once, when it is issued.",
    rows=lambda page: page.scoped(AccessToken).filter(person=page.object).select_related("person", "entered_by"),
    most=PART_ROWS_MAX,
    columns=TOKEN_COLUMNS,
    add=Action(
        "Issue an access token", "person_token", "token.edit", when=lambda page: is_active_on(page.object, page.today)
    ),
    missing="access tokens",
)  # fmt: skip
