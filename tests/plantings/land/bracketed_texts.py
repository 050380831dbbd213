"""Texts that go through translation are told from those that do not: a language in which every marked text is between brackets."""

import re
from dataclasses import fields, is_dataclass
from html.parser import HTMLParser

from django.utils.translation import trans_real

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import BROWSE, FLOWERS
from tests.french import french_texts

OPEN, CLOSE = "⟦", "⟧"
_SHOWN = {"placeholder", "aria-label", "title", "alt"}
_NOT_SHOWN = {"script", "style", "svg", "title"}
_SAME_EVERYWHERE = re.compile(
    r"Mastbook|Français|km\b|\S+@\S+|https?://\S+"
)  # the name of the product, the other language in its own word, units, addresses
# codes are the same in every language, and so are units
CODES = re.compile(
    "|".join(
        rf"(?<!\w){code}(?= \(?{OPEN}|$| \d)"
        for code, *_ in (*STATUSES, *CAUSES_OF_DEATH, *REMOVAL_REASONS, *BROWSE.classes, *FLOWERS.classes)
    )
    + r"|\b[cm]m\b"
)


class Brackets(trans_real.gettext_module.NullTranslations):
    """A language in which every text is itself between brackets. It notes what has no translation into French."""

    def __init__(self):
        super().__init__()
        self.not_french = set()

    def gettext(self, message):
        return self.noted(message, message)

    def ngettext(self, one, many, number):
        return self.noted(one, one if number == 1 else many)

    def noted(self, listed, message):
        if listed not in french_texts():
            self.not_french.add(listed)
        return f"{OPEN}{message}{CLOSE}"

    def pgettext(self, context, message):
        return self.gettext(message)

    def npgettext(self, context, one, many, number):
        return self.ngettext(one, many, number)

    def to_language(self):
        return "en"

    def language(self):
        return "en"


class Texts(HTMLParser):
    """The texts of a page that somebody reads or hears, one after the other."""

    def __init__(self, html):
        super().__init__()
        self.found, self.hidden = [], []
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        if tag in _NOT_SHOWN:
            self.hidden.append(tag)
        self.found += [value for name, value in attributes if name in _SHOWN and value]

    def handle_endtag(self, tag):
        if self.hidden and self.hidden[-1] == tag:
            self.hidden.pop()

    def handle_data(self, data):
        if not self.hidden:
            self.found.append(data)


def unmarked(texts):
    """The Latin words of texts that are outside brackets."""
    text = "\n".join(texts)
    while OPEN in text:
        shorter = re.sub(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}", " ", text)
        assert shorter != text, "a bracket was cut off"
        text = shorter
    return re.findall(r"[A-Za-z]{2,}[^\n]*", _SAME_EVERYWHERE.sub(" ", text))


def read(response):
    html = response.content.decode()
    assert OPEN in html
    return Texts(html).found


def texts_of(value):
    """Every text in a document and its parts."""
    if is_dataclass(value):
        value = [getattr(value, field.name) for field in fields(value) if field.name not in {"scan", "align", "face", "blank"}]
    if isinstance(value, (list, tuple)):
        return [text for part in value for text in texts_of(part)]
    return [str(value)] if isinstance(value, str) else []
