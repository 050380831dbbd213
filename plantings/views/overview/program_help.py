"""How a program reads the results: the answers of Help for people who compute elsewhere."""

from django.utils.translation import gettext_lazy as _

from registry.access.request_rate import REQUESTS_MOST
from registry.selectors.people.tokens import DAYS_MOST

_ANSWERS = (
    (
        _("The token"),
        _(
            "A programme lead issues it on the page of a person, under People. It has the rights of that person and is shown once. Whoever "
            "has it reads what that person may read of the results, sites, plantings and lots, and can change nothing. It ends on its day, "
            "at the latest after %(days)s days, when a lead revokes it, and when the person leaves."
        ),
    ),
    (
        _("The address"),
        _(
            "Send the token in the header Authorization, after the word Bearer. The addresses begin with /api/1/: survival, lineages, "
            "lifetimes, growth, measurements, data, sites, plantings, lots. /api/1/openapi.json describes each with its parameters, fields "
            "and units, for programs that read OpenAPI 3.1. Signed in, you can open them in the browser too."
        ),
    ),
    (
        _("The choices"),
        _(
            "They are those of the pages of Results. What follows the question mark in the address of a page does the same here. A "
            "parameter that is mistyped is refused and named."
        ),
    ),
    (
        _("Many rows"),
        _("An answer has a part of the rows. Its field next is the address of those that follow; it is null after the last."),
    ),
    (
        _("The limit"),
        _("%(requests)s requests a minute for each token. A program that asks more often is told how many seconds to wait."),
    ),
)


def program_help():
    """[(term, sentences)] of how a program reads the results."""
    return [(str(term), str(words) % {"days": DAYS_MOST, "requests": REQUESTS_MOST}) for term, words in _ANSWERS]
