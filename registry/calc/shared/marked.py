"""Marks words of the pure packages for translation. They are translated where they are shown, by the layers that know Django."""


def gettext_noop(words: str) -> str:
    """The words, unchanged. `makemessages` collects what is handed to a function of this name.

    Source
    ------
    A mark for a tool: no source.

    Examples
    --------
    >>> gettext_noop("Height")
    'Height'
    """
    return words
