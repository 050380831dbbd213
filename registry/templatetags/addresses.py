"""Addresses inside QR codes: a phone must be able to open them."""

import ipaddress
import re
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.urls import NoReverseMatch, reverse


def find_address(request, code):
    """The address that opens the record of a code; the bare code where no address is known.

    It leads to the site's own address (`SITE_URL`), which a sheet printed today still finds when the site was opened under another name;
    to the name it was opened under where none is set.
    """
    try:
        path = f"{reverse('find')}?{urlencode({'q': code})}"
    except NoReverseMatch:
        return code
    if not is_loopback(urlsplit(settings.SITE_URL).netloc):
        return f"{settings.SITE_URL}{path}"
    return request.build_absolute_uri(path) if request else code


def leads_here_only(request):
    """Whether such an address could be followed on this machine only."""
    return is_loopback(urlsplit(settings.SITE_URL).netloc) and is_loopback(request.get_host())


def is_loopback(host):
    """True for localhost and the addresses a machine gives itself."""
    name = re.sub(r":\d+$", "", host).strip("[]").lower()
    if name == "localhost" or name.endswith(".localhost"):
        return True
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return False
    return address.is_loopback or address.is_unspecified
