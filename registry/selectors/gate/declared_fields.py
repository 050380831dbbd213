"""How a field of a rule or of a paper is declared: once, for its page, its form, its sheet and the facts of the gate."""

from dataclasses import dataclass

from registry.selectors.gate.code_lists import CodeList, PaperSets

__all__ = ["DeclaredField", "grouped"]


@dataclass(frozen=True, slots=True)
class DeclaredField:
    """A field of the same name in the record, in its form and in the facts of the gate.

    Parameters
    ----------
    name, label : str
    group : str
        Heading of the form under which its box is; "" where it has no box there.
    header : str
        Of its column in the sheet, where that differs from the label.
    was : tuple of str
        Headers that its column had in sheets downloaded earlier.
    help : str
        Under its box.
    codes : CodeList or PaperSets or None
        For a list of codes; any other field is read and shown by the type it has in the record.
    blank : str
        What the page says where nothing is entered; "" leaves the line out.
    example : str
        In the template of the sheet.
    place : str
        Where the page shows it: "facts", "head" (title, code) or "text" (a part of its own).
    """

    name: str
    label: str
    group: str = ""
    header: str = ""
    help: str = ""
    codes: CodeList | PaperSets | None = None
    blank: str = ""
    example: str = ""
    place: str = "facts"
    was: tuple[str, ...] = ()

    def words(self, value):
        """The value of a list of codes, as the page shows it."""
        return self.codes.words(value or ()) or self.blank


def grouped(fields):
    """[(heading, names)] of the form, in the order in which they are declared."""
    found = {}
    for field in fields:
        if field.group:
            found.setdefault(field.group, []).append(field.name)
    return [(heading, tuple(names)) for heading, names in found.items()]
