"""Patterns such as {site}_{year}.csv: what a file's name, a sheet's name or a cell says, part by part."""

import re
from dataclasses import dataclass

LENGTH_MAX, PLACES_MAX = 300, 12
_PLACE = re.compile(r"\{([^{}:]+)(?::([^{}]+))?\}")
_KINDS = {"number": str.isdecimal, "letters": str.isalpha, "": lambda piece: True}


@dataclass(frozen=True, slots=True)
class NamePattern:
    """A pattern that was read: `pieces` are signs as they are written, and (name, kind, length) of each place in braces."""

    written: str
    pieces: tuple

    @property
    def names(self):
        """Names of the places, in their order."""
        return tuple(piece[0] for piece in self.pieces if not isinstance(piece, str))

    def read(self, text: str) -> dict[str, str]:
        """What each place of the pattern holds in a text.

        Parameters
        ----------
        text : str

        Returns
        -------
        dict of str to str

        Raises
        ------
        ValueError
            The text is written otherwise, or can be read in more than one way; the message is the end of a sentence about it.

        Source
        ------
        No source: a definition of this programme. Which ends of each place leave a rest that fits is worked out from the back, so
        the work grows with pieces × length², and two readings are found rather than one of them taken.
        """
        if len(text) > LENGTH_MAX:
            raise ValueError(f"is longer than the {LENGTH_MAX} characters that are compared with {self.written}")
        fits = [{len(text)}]
        for piece in reversed(self.pieces):
            fits.insert(0, {at for at in range(len(text) + 1) if any(_ends(text, at, piece, fits[0]))})
        if 0 not in fits[0]:
            raise ValueError(f"is not written as {self.written}")
        found, at = {}, 0
        for number, piece in enumerate(self.pieces, start=1):
            ends = list(_ends(text, at, piece, fits[number]))
            if len(ends) > 1:
                raise ValueError(
                    f"can be read as {self.written} in more than one way; say more of '{piece[0]}', such as {{{piece[0]}:letters}}, "
                    f"{{{piece[0]}:number}} or, of two characters, {{{piece[0]}:2}}"
                )
            if not isinstance(piece, str):
                found[piece[0]] = text[at : ends[0]]
            at = ends[0]
        return found


def _ends(text, at, piece, fits):
    """Where a piece that begins at a place may end, so that the rest fits."""
    if isinstance(piece, str):
        end = at + len(piece)
        if end in fits and text[at:end].casefold() == piece.casefold():
            yield end
        return
    _name, kind, length = piece
    for end in fits if not length else {at + length} & fits:
        if end > at and _KINDS[kind](text[at:end]):
            yield end


def name_pattern(written: str) -> NamePattern:
    """Read a pattern: {name} takes any characters, {name:number} digits, {name:letters} letters, {name:2} two characters.

    Parameters
    ----------
    written : str
        Such as "{site}_{year}.csv".

    Returns
    -------
    NamePattern

    Raises
    ------
    ValueError
        The pattern says nothing, or cannot be read; the message is a sentence.

    Source
    ------
    No source: a definition of this programme.
    """
    pieces, at, names = [], 0, set()
    for place in _PLACE.finditer(written):
        between, name, kind = written[at : place.start()], place[1].strip(), (place[2] or "").strip()
        if between:
            pieces.append(between)
        if name in names:
            raise ValueError(f"The pattern {written} has {{{name}}} twice. Give each place a name of its own.")
        length = int(kind) if re.fullmatch("[1-9][0-9]?", kind) else 0
        if not length and kind not in _KINDS:
            raise ValueError(f"The pattern {written} says '{kind}' of {{{name}}}. Write number, letters, or how many characters.")
        names.add(name)
        pieces.append((name, "" if length else kind, length))
        at = place.end()
    if written[at:]:
        pieces.append(written[at:])
    signs = [piece for piece in pieces if isinstance(piece, str)]
    if not names or any("{" in sign or "}" in sign for sign in signs) or len(names) > PLACES_MAX:
        raise ValueError(
            f"The pattern {written} is not understood. Write up to {PLACES_MAX} names in braces, such as {{site}}_{{year}}.csv."
        )
    return NamePattern(written, tuple(pieces))
