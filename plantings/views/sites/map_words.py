"""The words of the map in the language of its reader."""

from django.utils.translation import get_language, gettext

from plantings.maps.words import MAP_WORDS
from registry.selectors.shared.local_words import local_number

__all__ = ["map_words"]


def map_words():
    own = {"lang": get_language(), "decimal": local_number("0.5")[1]}
    return {name: own.get(name) or gettext(words) for name, words in MAP_WORDS.items()}
