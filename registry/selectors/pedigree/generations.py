"""The generation that the parents on record give a tree or a lot."""

from registry.calc.pedigree.generation import Generation, generation_of_cross
from registry.choices import CrossType, LotOrigin
from registry.models import PollenPoolMember
from registry.selectors.identity.descent import linked

__all__ = ["father_generations", "generation_of_parents", "generation_words_on_file", "pool_generations", "only_generation"]

_FIELDS = ("backcrosses", "intercrosses", "generation_other")


def generation_of_parents(record):
    """The generation that the parents of a tree, or of a harvested lot, give; None where they do not give one for certain.

    One query where the father is a pollen pool, otherwise none besides those for the parents.
    """
    if record.mother is None or getattr(record, "origin", LotOrigin.HARVEST) != LotOrigin.HARVEST:
        return None
    members = pool_generations([record.pollen_pool_id])[record.pollen_pool_id] if record.pollen_pool_id else {}
    fathers = father_generations(
        record.mother.code,
        record.mother.generation,
        father=record.father and (record.father.generation,),
        members=members if record.pollen_pool_id else None,
        own_pollen=record.cross_type == CrossType.SELF or bool(record.pollen_pool and record.pollen_pool.selfing_share),
    )
    return only_generation(record.mother.generation, fathers)


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
