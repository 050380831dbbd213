"""The generation that the parents on record give a tree or a lot."""

from registry.calc.pedigree.generation import Generation, contradicts_parents, generation_of_cross
from registry.choices import CrossType, LotOrigin
from registry.models import PollenPoolMember
from registry.selectors.identity.descent import linked

__all__ = [
    "father_generations", "generation_fault", "generation_of_parents", "generation_words_on_file", "not_of_parents", "only_generation",
    "pool_generations",
]  # fmt: skip

_FIELDS = ("backcrosses", "intercrosses", "generation_other")


def generation_of_parents(record):
    """The generation that the parents of a tree, or of a harvested lot, give; None where they do not give one for certain.

    One query where the father is a pollen pool, otherwise none besides those for the parents.
    """
    return only_generation(*_parents_of(record)) if _is_cross(record) else None


def generation_fault(record):
    """What is wrong with the stated generation of a tree or a harvested lot whose parents average another share; "" where nothing is."""
    if record.generation is None or not _is_cross(record):
        return ""
    mother, fathers = _parents_of(record)
    derived, stated = only_generation(mother, fathers), record.generation
    if derived is None or not any(contradicts_parents(stated, mother, father) for father in fathers):
        return ""
    return f"{stated.code} {not_of_parents(derived)}"


def not_of_parents(derived):
    """The end of the sentence that refuses a generation: `derived` is what the parents give."""
    return f"is not what its parents give, {derived.code}; write that, leave it blank, or correct a parent"


def _is_cross(record):
    return record.mother is not None and getattr(record, "origin", LotOrigin.HARVEST) == LotOrigin.HARVEST


def _parents_of(record):
    """(generation of the mother, those of who may be the father)."""
    members = pool_generations([record.pollen_pool_id])[record.pollen_pool_id] if record.pollen_pool_id else {}
    fathers = father_generations(
        record.mother.code,
        record.mother.generation,
        father=record.father and (record.father.generation,),
        members=members if record.pollen_pool_id else None,
        own_pollen=record.cross_type == CrossType.SELF or bool(record.pollen_pool and record.pollen_pool.selfing_share),
    )
    return record.mother.generation, fathers


def father_generations(mother, generation, *, father, members, own_pollen):
    """The generations of those who may be the father; none where the father is not known.

    Parameters
    ----------
    mother : str
        Code of the mother: her place in a pool is passed over.
    generation : Generation or None
        Of the mother, for her own pollen.
    father : (Generation or None,) or None
        None without a father on record.
    members : dict of {code: Generation or None} or None
        Of the pollen pool; None without a pool. Pollen from outside the pool is not looked at, as in the trade's codes.
    own_pollen : bool
        The cross is a selfing, or the pool declares a share of it.
    """
    if father:
        return [father[0]]
    found = [member for code, member in (members or {}).items() if code != mother]
    return [*found, generation] if own_pollen and (found or members is None) else found


def only_generation(mother, fathers):
    """The one generation that a mother and any of these fathers give; None where they give several or one is not known."""
    found = {generation_of_cross(mother, father) for father in fathers}
    return next(iter(found)) if len(found) == 1 else None


def pool_generations(keys):
    """{pool key: {code of a member: Generation or None}}: a query for each few hundred pools."""
    found = {key: {} for key in keys}
    names = [f"tree__{name}" for name in _FIELDS]
    for pool, code, *stated in linked(PollenPoolMember.objects, "pool", keys, "pool", "tree__code", *names):
        found[pool][code] = Generation(*stated) if stated[0] is not None or stated[2] else None
    return found


def generation_words_on_file(model):
    """The words that trees or lots on file have for a generation without a code."""
    return set(model.objects.exclude(generation_other="").order_by().values_list("generation_other", flat=True).distinct())
