"""What a site has on file about how its jurisdiction and its county were found, sentence by sentence.

The text on file is in English, as `jurisdiction` and `counties` wrote it; what is read from it can be written in the reader's language.
"""

import re

from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import Worded, worded

__all__ = ["BY_HAND", "TYPED", "basis_sentences"]

BY_HAND, TYPED = "by hand", gettext_noop("typed, not checked against an outline")
_SENTENCES = (
    gettext_noop("inside: %(name)s (layer %(layer)s)."),
    gettext_noop("nearest within 2 km: %(name)s (layer %(layer)s)."),
    gettext_noop("country only: %(name)s (layer %(layer)s)."),
    gettext_noop("inside: %(name)s (%(layer)s)."),
    gettext_noop("%(distance)s m outside the drawn line: %(name)s (%(layer)s)."),
    gettext_noop("The point is %(distance)s m outside the drawn line of %(name)s."),
    gettext_noop("No layer of states or provinces covers this point; only the country is known."),
    gettext_noop("Within %(km)s km of %(places)s: check on which side of the line it is."),
    gettext_noop("no boundary layer covers this point"),
    TYPED,
    gettext_noop("by hand: %(reason)s"),
)
_SHIPPED_LAYERS = (gettext_noop("US states"), gettext_noop("Countries"), gettext_noop("US counties, Census Bureau 2017"))
_TO_THE_END = {"reason": "(?P<reason>.+)$"}  # a person wrote it, with full stops of their own


def _pattern(template: str) -> re.Pattern[str]:
    place = re.compile(r"%\((\w+)\)s")
    parts = place.split(template)  # text, name of a place, text, …
    kept = [re.escape(part) if at % 2 == 0 else _TO_THE_END.get(part, f"(?P<{part}>.+?)") for at, part in enumerate(parts)]
    return re.compile("".join(kept) + r"(?: |$)")


_READERS = tuple((template, _pattern(template)) for template in _SENTENCES)


def basis_sentences(text: str) -> list[str]:
    """The sentences of a text on file, in its order.

    Parameters
    ----------
    text : str
        Of `Site.jurisdiction_basis` or `Site.county_basis`.

    Returns
    -------
    list of str
        `Worded` where a sentence is known; the rest as it is on file, such as what was cut at the width of the column.

    Source
    ------
    Sentences of our own: no source.

    Examples
    --------
    >>> basis_sentences("inside: Vermont (layer US states). Within 2 km of US-NH: check on which side of the line it is.")
    ['inside: Vermont (layer US states).', 'Within 2 km of US-NH: check on which side of the line it is.']
    >>> basis_sentences("surveyed in 1931")
    ['surveyed in 1931']
    """
    found: list[str] = []
    while text:
        sentence = _first_sentence(text)
        if sentence is None:
            return [*found, text]
        found.append(sentence)
        text = text[len(sentence) :].lstrip()
    return found


def _first_sentence(text: str) -> Worded | None:
    for template, pattern in _READERS:
        if match := pattern.match(text):
            values = match.groupdict()
            if values.get("layer") in _SHIPPED_LAYERS:
                values["layer"] = worded(values["layer"])
            return worded(template, **values)
    return None
