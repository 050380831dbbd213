"""One paper checked against one line of a question: its material, its form and the quantity that is left.

Source
------
Cover test of the trade, for all functions here: a paper covers material, form, quantity left, origin, transit, destination, date and
holder (common practice, no source). How its states and versions are read on a day is a definition of this programme.
"""

from registry.calc.shared.screen import list_words
from registry.compliance.gate.answers import Reason
from registry.compliance.gate.facts import Line, Paper, Question, Version
from registry.compliance.shared.earlier_taxa import as_epithet, as_epithets, covered_before_6
from registry.compliance.shared.taxa import covered, taxon_in


def is_capped(version: Version, question: Question) -> bool:
    """Whether lines of the question are counted against the cap of the paper."""
    return (
        version.cap_quantity is not None
        and bool(question.lines)
        and (not version.cap_activities or question.activity in version.cap_activities)
    )


def line_reasons(paper: Paper, version: Version, line: Line, capped: bool, edition: int) -> tuple[Reason, ...]:
    """Why a paper does not cover one line, whatever the rule, the sum of all lines left aside.

    Parameters
    ----------
    paper, version, line
    capped : bool
        From `is_capped`.
    edition : int
        Of the gate, as of the question: names of taxa are compared as it did.
    """
    reasons = []
    if version.lots and line.lot not in version.lots:
        reasons.append(Reason("lot", "it names other lots"))
    if version.forms and line.form not in version.forms:
        reasons.append(Reason("form", f"wrong form: it covers {list_words(sorted(version.forms))}, {_this(line.form)}"))
    strangers = [taxon for taxon in line.taxa if not _covers(version, line, taxon, edition)] if version.taxa else []
    if strangers or (version.taxa and not line.taxa):
        asked = _this(list_words(sorted(strangers), "and"))
        reasons.append(Reason("taxon", f"wrong taxon: it covers {list_words(sorted(version.taxa))}, {asked}"))
    if edition >= 4 and line.quantity == 0:
        reasons.append(Reason("quantity", "the quantity is 0"))
    elif capped:
        reasons += _cap_reasons(paper, version, line)
    return tuple(reasons)


def _covers(version: Version, line: Line, taxon: str, edition: int) -> bool:
    if edition < 4:
        return taxon_in(taxon, version.taxa)
    if edition < 7:
        taxon, taxa, parents = (as_epithet(taxon), *map(as_epithets, (version.taxa, line.parent_taxa)))
        return (covered if edition == 6 else covered_before_6)(taxon, taxa, parents)
    return covered(taxon, version.taxa, line.parent_taxa)


def _cap_reasons(paper, version, line):
    if line.draw_on and paper.code not in line.draw_on:
        return [Reason("draw_on", f"the line is to draw on {list_words(sorted(line.draw_on))}")]
    if line.quantity is None:
        return [Reason("quantity", f"the quantity is not given and {left(paper, version)} {version.cap_unit} are left of the cap")]
    if line.unit != version.cap_unit:
        asked = line.unit or "no unit"
        return [Reason("unit", f"its cap is in {version.cap_unit or 'no unit'}, the line is in {asked}")]
    return []


def _this(asked: str) -> str:
    return f"this is {asked}" if asked else "none is given"


def left(paper: Paper, version: Version) -> int:
    """What is left of the cap; never below 0.

    Returns
    -------
    int
        In the unit of the cap.
    """
    return max(0, (version.cap_quantity or 0) - paper.drawn)


def class_reason(version: Version, line: Line, matched: frozenset[str]) -> tuple[Reason, ...]:
    """Why a paper does not cover the classes by which a rule takes the line in.

    A paper limited to classes must cover each class the rule goes by; under a rule that goes by none it must
    cover one of the classes of the line.
    """
    if not version.classes:
        return ()
    if matched:
        missing = matched.difference(version.classes)
    else:
        own = line.classes or line.may_classes
        missing = () if not set(own).isdisjoint(version.classes) else own or ("in no class",)
    if not missing:
        return ()
    covered, asked = list_words(sorted(version.classes)), list_words(sorted(missing), "and")
    return (Reason("class", f"wrong material class: it covers {covered}, this is {asked}"),)
