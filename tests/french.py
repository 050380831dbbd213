"""What the list of French texts has, for tests that read pages and for those that read the list itself."""

import gettext
from functools import cache
from pathlib import Path

import django
from django.conf import settings

from registry.calc.shared.catalogue import po_read

CATALOGUE = Path(settings.LOCALE_PATHS[0]) / "fr/LC_MESSAGES/django.po"
# Words of Django's own pages and fields that people of both languages meet; Django brings their French.
_DJANGO = Path(django.__file__).parent
_DJANGO_LISTS = ("conf", "contrib/auth", "contrib/contenttypes", "contrib/sessions")


@cache
def entries():
    """The entries of our list."""
    return po_read(CATALOGUE.read_text(encoding="utf-8"))[1]


@cache
def french_texts():
    """Every text that has a French translation, ours or Django's."""
    found = {entry.text for entry in entries() if entry.is_translated}
    for name in _DJANGO_LISTS:
        with open(_DJANGO / name / "locale/fr/LC_MESSAGES/django.mo", "rb") as file:
            for key in gettext.GNUTranslations(file)._catalog:
                found.add((key[0] if isinstance(key, tuple) else key).rpartition("\x04")[2])
    return found
