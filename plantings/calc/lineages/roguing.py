"""What the progeny of a mother say about keeping her: in words that propose, for people who decide.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.lineages.compare import NEEDED, NO_NATIVE, Comparison, LineageRow
from plantings.calc.lineages.lineage_model import LINEAGE
from plantings.calc.lineages.words import difference_range
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import worded

NO_PROGENY = gettext_noop("none of her progeny is in a complete census")
NO_PROGENY_NEEDED = gettext_noop("Plant her seed beside native checks on two sites or more, and assess it.")


def progeny_proposal(one: LineageRow | None, found: Comparison) -> str:
    """What the figures of the progeny say, or why they cannot tell and what would be needed.

    Parameters
    ----------
    one : LineageRow or None
        The mother's progeny at the level of the mother tree; None where none is in a complete census.
    found : Comparison
        All mothers; its pressure says whether resistance could show at all.
    """
    reason = one and (one.reason or ("" if found.has_native else NO_NATIVE))
    if one is None or reason:
        why, needed = (reason, NEEDED[reason]) if one else (NO_PROGENY, NO_PROGENY_NEEDED)
        return worded("Her progeny cannot tell: %(reason)s. Needed: %(needed)s", reason=worded(why), needed=worded(needed))
    difference = one.row.difference
    if difference is None or difference.low is None or difference.high is None:
        return worded("Her progeny cannot tell: no interval can be made.")
    values = {"range": difference_range(difference)}
    if difference.low > 0:
        words = worded("Her progeny survive better than the native check on the same sites: %(range)s.", **values)
    elif difference.high < 0:
        words = worded("Her progeny survive less well than the native check on the same sites: %(range)s.", **values)
    else:
        words = worded("Her progeny do not differ clearly from the native check on the same sites: %(range)s.", **values)
    if LINEAGE in found.singular:
        words = worded("%(told)s Among the mothers no order can be told.", told=words)
    if found.pressure is None or not found.pressure.cankered:
        words = worded("%(told)s Without disease on the native checks this says nothing of resistance.", told=words)
    return words
