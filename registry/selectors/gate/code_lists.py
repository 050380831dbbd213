"""Lists of codes that limit a rule or a paper: what may be in one, how it is read, in what words it is shown.

Forms and sheets read by the same lists, so that what one takes the other takes too. An empty list sets no limit.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches

from registry.calc.shared.screen import list_words
from registry.choices import authorization_types, material_forms
from registry.compliance.gate.place_codes import check_pattern, check_region, place_code
from registry.compliance.gate.places import NO, excluded_places
from registry.compliance.gate.words import ACTIVITIES, DISPATCH, ESTABLISH
from registry.compliance.shared.name_faults import name_fault
from registry.compliance.shared.taxa import has_unknown_genera, named
from registry.models import Authorization, Lot, MaterialClass, Taxon
from registry.selectors.gate.named_places import NamedPlaces

__all__ = [
    "ACTIVITY_CODES", "ANY_CODES", "CAP_ACTIVITY_CODES", "CLASS_CODES", "FORM_CODES", "LOT_CODES", "PAPER_CODES", "PAPER_SETS",
    "PLACES_HELP",
    "PLACE_CODES", "REGION_CODES", "TAXA_ON_FILE", "TAXON_NAMES", "WAY_CODES", "CodeList", "PaperSets", "TaxonNames",
]  # fmt: skip

_SLIP = 0.88  # likeness of two names above which one counts as a slip for the other; Juglan and Juglans have 0.92
_BETWEEN = re.compile(r"[;,\n]+")
PLACES_HELP = (
    "US, US-VT, US-VT/Chittenden, site:CODE, partner:CODE or area:CODE. Put “outside” before one to mean everywhere else. Commas between."
)


@dataclass(frozen=True, slots=True)
class CodeList:
    """Codes of one kind.

    `options` gives [(code, words)] of a list short enough to be ticked, `on_file` the codes of a longer one; `what` is the record they
    are codes of. `check` raises `ValueError` for a code that cannot be, `check_all` for a list that cannot. With none of these any text
    is a code.
    """

    options: Callable | None = None
    on_file: Callable | None = None
    what: str = ""
    check: Callable | None = None
    check_all: Callable | None = None
    in_capitals: bool = False

    def reader(self):
        """A function from text to its codes, each once, as they are written on file. What there is, is looked up once.

        The function raises `ValueError` with an argument for each code that cannot be.
        """
        known = {str(code).casefold(): code for code in self._known()} if self.options or self.on_file else None

        def read(text):
            words = [" ".join(part.split()) for part in _BETWEEN.split(text.upper() if self.in_capitals else text)]
            words = list(filter(None, words))
            if wrong := [fault for word in words if (fault := self._fault(word, known))]:
                raise ValueError(*wrong)
            if self.check_all:
                self.check_all(words)
            return list(dict.fromkeys(word if known is None else known[word.casefold()] for word in words))

        return read

    def _known(self):
        return [code for code, _words in self.options()] if self.options else self.on_file()

    def _fault(self, word, known):
        if known is not None and word.casefold() not in known:
            if self.what:
                return f"No {self.what} “{word}” is on file. Check the code, or enter it first."
            return f"“{word}” is not in the list. Use one or more of {list_words(map(str, known.values()))}."
        try:
            if self.check:
                self.check(word)
        except ValueError as error:
            return str(error)
        return ""

    def words(self, codes):
        """The codes as a page shows them; "" for none."""
        names = dict(self.options()) if self.options and codes else {}
        return ", ".join(str(names.get(code, code)) for code in codes)

    def typed(self, codes, between):
        """The codes as they are typed in."""
        return between.join(codes or ())


class PaperSets:
    """Papers a rule asks for: sets of types, one paper of each set is needed. "or" is between the types of a set, a line or a
    semicolon between the sets. Types are read by their codes and by their names."""

    options = None

    def reader(self):
        names = {str(name).casefold(): code for code, name in authorization_types()}
        names |= {str(code).casefold(): code for code, _name in authorization_types()}

        def read(text):
            sets = [_types(line, names) for line in re.split(r"[;\n]+", text)]
            return [types for types in sets if types]

        return read

    def words(self, sets):
        names = dict(authorization_types())
        return "; and ".join(" or ".join(str(names.get(code, code)) for code in types) for types in sets)

    def typed(self, sets, between):
        return between.join(" or ".join(types) for types in sets or ())


def _types(line, names):
    """The types of one set. A name may itself hold an "or", so the longest that is a name is taken."""
    parts, found = [" ".join(part.split()) for part in re.split(r"\s+or\s+", f" {line.strip()} ") if part.strip()], []
    while parts:
        ends = [end for end in range(len(parts), 0, -1) if " or ".join(parts[:end]).casefold() in names]
        if not ends:
            codes = list_words(sorted(set(names.values())))
            raise ValueError(f"“{parts[0]}” is not a type of paper. Use one or more of {codes}.")
        found.append(names[" or ".join(parts[: ends[0]]).casefold()])
        parts = parts[ends[0] :]
    return found


@dataclass(frozen=True, slots=True)
class TaxonNames(CodeList):
    """Names of taxa, read as `compliance.shared.taxa` reads them. A paper names taxa on file; a rule may name others too, but no name
    that looks like a slip of the pen for one on file."""

    must_be_on_file: bool = False

    def reader(self):
        rows = list(Taxon.objects.values_list("name", "hybrid_of", "common_name"))
        taxa = {name: (hybrid_of,) if hybrid_of else () for name, hybrid_of, _common in rows}
        spelt = {name.casefold(): name for name in _with_genera(taxa)}
        common = {common.casefold(): name for name, _hybrid_of, common in rows if common}

        def read(text):
            words = list(filter(None, (" ".join(part.split()) for part in _BETWEEN.split(text))))
            if wrong := [fault for word in words if (fault := self._name_fault(word, taxa, spelt, common))]:
                raise ValueError(*wrong)
            return list(dict.fromkeys(spelt.get(word.casefold(), word) for word in words))

        return read

    def _name_fault(self, word, taxa, spelt, common):
        if word.casefold() in spelt:
            return ""
        if word.casefold() in common:
            return f"“{word}” is the common name of {common[word.casefold()]}. Write that name."
        if fault := name_fault(word):
            return fault
        certain = {taxon: parents for taxon, parents in taxa.items() if not has_unknown_genera(taxon, parents)}  # others may be anything
        if any(named((word,), (taxon,), parents) != NO for taxon, parents in certain.items()):
            return ""
        if self.must_be_on_file:
            return f"No species or genus “{word}” is on file. Check the name, or enter it first."
        near = get_close_matches(word.casefold(), spelt, n=1, cutoff=_SLIP)
        return f"“{word}” is not on file, but {spelt[near[0]]} is. Correct it, or enter {word} as a taxon first." if near else ""


class PlaceCodes(CodeList):
    """Places of rules and papers, with the codes of sites, partners and areas as they are on file."""

    def reader(self):
        named_places, read_codes = NamedPlaces(), super().reader()
        return lambda text: list(dict.fromkeys(map(named_places.as_on_file, read_codes(text))))


class WayCodes(CodeList):
    """Places that material leaves or passes: countries, subdivisions, or counties in one, as `place_code` writes them."""

    def reader(self):
        def read(text):
            found, wrong = [], []
            for word in filter(None, (" ".join(part.split()) for part in _BETWEEN.split(text))):
                try:
                    found.append(place_code(word))
                except ValueError as error:
                    wrong.append(str(error))
            if wrong:
                raise ValueError(*wrong)
            return list(dict.fromkeys(found))

        return read


def _refuse_nowhere(patterns):
    """A list that leaves out every place it names would silence its rule."""
    excluded = excluded_places(patterns)
    if excluded and len(excluded) == sum(not pattern.startswith("outside ") for pattern in patterns):
        raise ValueError(f"{list_words(patterns)}: no place fits, since what is named is also left out. Take one of them away.")


def _with_genera(taxa):
    return [*taxa, *{name.split()[0] for name in taxa}]


def _classes():
    return list(MaterialClass.objects.values_list("code", "title"))


def _lots():
    return Lot.objects.values_list("code", flat=True)


def _papers():
    return Authorization.objects.values_list("code", flat=True)


ANY_CODES = CodeList()
ACTIVITY_CODES = CodeList(options=lambda: list(ACTIVITIES.items()))
CAP_ACTIVITY_CODES = CodeList(options=lambda: [(code, ACTIVITIES[code]) for code in (DISPATCH, ESTABLISH)])
CLASS_CODES = CodeList(options=_classes, what="material class")
FORM_CODES = CodeList(options=material_forms)
TAXA_ON_FILE = TaxonNames(must_be_on_file=True)
TAXON_NAMES = TaxonNames()
LOT_CODES = CodeList(on_file=_lots, what="lot")
PAPER_CODES = CodeList(on_file=_papers, what="paper")
PLACE_CODES = PlaceCodes(check=check_pattern, check_all=_refuse_nowhere)
REGION_CODES = CodeList(check=check_region, in_capitals=True)
WAY_CODES = WayCodes()
PAPER_SETS = PaperSets()
