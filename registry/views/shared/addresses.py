"""Addresses of pages and answers that are files, as views hand them out."""

from django.http import HttpResponse
from django.urls import reverse
from django.utils.http import content_disposition_header, url_has_allowed_host_and_scheme
from django.utils.translation import gettext

# record types whose routes have a shorter name than the type
_ROUTES = {"censusround": "round", "selectiondecision": "decision", "specieshandbook": "handbook"}


def reverse_to(name, *args):
    return reverse(name, args=args)


def route_of(model):
    """The first word of the routes of a record type: `lot` of `lot_list` and `lot_detail`."""
    return _ROUTES.get(model._meta.model_name, model._meta.model_name)


def record_url(record):
    """The page of a record."""
    return reverse_to(f"{route_of(record)}_detail", record.pk)


def own_address(request, address):
    """An address somebody sent, when it leads to a page of Mastbook; None when it leads elsewhere or runs a script."""
    own = url_has_allowed_host_and_scheme(address, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return address if own else None


def file_response(content, content_type, filename):
    """A download. The name may hold anything somebody called their file."""
    headers = {"Content-Disposition": content_disposition_header(True, filename)}
    return HttpResponse(content, content_type=content_type, headers=headers)


def link(user, action, route, *args):
    """The address of a page, or None for someone who may not open it."""
    return reverse(route, args=args) if user.may(action) else None


def allowed(user, *actions):
    """The (label, url) pairs of the (label, action, url) triples this person may do."""
    return [(label, url) for label, action, url in actions if user.may(action)]


def yes_no(value):
    return gettext("yes") if value else gettext("no")
