"""What roguing a tree would leave in its orchard, checked against the floors of the programme."""

from contextlib import suppress
from fractions import Fraction

from registry.calc.orchard.diversity_floor import Floors, Mother, floor_breaches
from registry.calc.pedigree.lineage import NOT_STATED, derive_lineages
from registry.choices import ProgrammeKey
from registry.selectors.orchard.diversity import group_diversity
from registry.selectors.orchard.orchard import orchard_mothers
from registry.selectors.pedigree.loops import record_loops
from registry.selectors.pedigree.tree_facts import ancestor_rows, needs_parents, outside_donor_shares, pool_facts, tree_facts
from registry.selectors.people.programme import setting

__all__ = ["floor_warnings", "lines_and_sources", "programme_floors"]

# A tree counts for a line or a source that makes up at least this share of it: common practice, no source. So a mother from a cross of
# two lines counts for both, and an open-pollinated one for her mother's, not for every line of the pollen pool.
_CARRIES_FROM = Fraction(1, 2)


def programme_floors():
    """The floors of the programme as set now, or the defaults."""
    keys = (ProgrammeKey.MOTHERS_PER_LINE, ProgrammeKey.MOTHERS_PER_SOURCE, ProgrammeKey.STATUS_NUMBER)
    per_line, per_source, status_number = map(setting, keys)
    return Floors(per_line, per_source, float(status_number))


def lines_and_sources(keys):
    """{tree key: (recurrent lines, sources of resistance)} of trees, as sets, by what they state or else by their parents.

    One query for each few hundred trees that state both; one more for each generation up to the ancestors that do.
    """
    rows, pools = ancestor_rows(keys, lambda row: needs_parents(tree_facts(row)))
    readable = {}
    for key, pool in pools.items():
        with suppress(ValueError):  # an inconsistent pool counts as an unknown father; its own page says why
            readable[key] = pool_facts(pool)
    found, _contradictions = derive_lineages(
        {key: tree_facts(row) for key, row in rows.items()}, readable, outside_donor_shares(pools.values())
    )
    return {key: (_carried(found[key].line), _carried(found[key].source)) for key in keys}


def _carried(mixture):
    return frozenset(label for label, share in mixture.items() if label != NOT_STATED and share >= _CARRIES_FROM)


def floor_warnings(tree):
    """The floors that roguing a tree would break: a list of sentences, empty when none would.

    Standing trees with a decision to rogue count as gone. A tree outside an orchard, or one that is not a mother of it, breaks none.
    """
    standing, going = orchard_mothers(tree)
    traits = lines_and_sources([mother.pk for mother in standing])
    mothers = [Mother(str(mother.pk), *traits[mother.pk]) for mother in standing]
    if all(mother.name != str(tree.pk) for mother in mothers):
        return []
    gone = {str(pk) for pk in going} | {str(tree.pk)}
    # as on the page of the orchard's diversity, so that both give one number
    left = group_diversity({mother.pk: 1 for mother in standing if str(mother.pk) not in gone})
    number = None if left.trees and left.problem else left.status_number
    breaches = floor_breaches(mothers, gone, str(tree.pk), programme_floors(), number)
    words = [breach.words for breach in breaches]
    if number is None:
        words.append(f"The status number cannot be calculated until the pedigree is corrected: {'; '.join(record_loops()[1])}.")
    return words
