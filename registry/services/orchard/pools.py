"""What is recorded about a pollen pool: its own facts, its members, the weights of their pollen.

A pool is the father of its lots. So a change of a pool that lots or trees name needs a reason, and the page says what it affects.
"""

from django.core.exceptions import ValidationError

from registry.calc.shared.screen import amount_words
from registry.models import Lot, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.orchard.pools import pool_gathering
from registry.selectors.pedigree.tree_facts import ancestor_rows
from registry.services.audit.trail import audit_record, made_note, state_note
from registry.services.audit.write import write
from registry.services.shared.records import record_save

__all__ = ["pool_gather", "pool_members_set", "pool_save"]

_CHANGED_SINCE = "The trees of the block changed since you opened this page, and the list of trees to add with them. Check the list again."


@write
def pool_save(*, actor, pool, reason=""):
    """Store a new pool or a change of its own facts; the change needs a reason when lots or trees name the pool."""
    if pool.pk:
        _locked(pool, reason)
    return record_save(actor=actor, obj=pool, reason=reason)


@write
def pool_gather(*, actor, pool, shown, reason=""):
    """Add the trees that were standing and flowered in the block on the flowering day. Present members do not change.

    Parameters
    ----------
    actor : Person
    pool : PollenPool
    shown : iterable of tree keys
        Those the person saw listed as to be added.
    reason : str
        Needed when lots or trees name the pool.

    Returns
    -------
    list of PollenPoolMember

    Raises
    ------
    django.core.exceptions.ValidationError
        When the trees have changed since, there is nothing to add, the pool has weights, or the reason is missing.
    """
    pool = _locked(pool, reason)
    new = pool_gathering(pool).new
    if {tree.pk for tree in new} != set(shown):
        raise ValidationError(_CHANGED_SINCE)
    if not new:
        raise ValidationError("There is no tree to add: every tree that was standing and flowered there is a member.")
    if pool.members.exclude(weight=None).exists():
        raise ValidationError(
            "The members of this pool have weights, and the trees to add have none. Add them one by one with a weight, or clear all "
            "weights."
        )
    _refuse_offspring(pool, new)
    members = PollenPoolMember.objects.bulk_create(PollenPoolMember(pool=pool, tree=tree) for tree in new)
    made_note(PollenPoolMember, [member.pk for member in members])
    state_note(PollenPoolMember, members[0])  # one of them notes the members of the pool
    audit_record(
        actor=actor, verb="pollenpool.gathered", obj=pool, changes={"members": [[], [tree.code for tree in new]]}, reason=reason.strip()
    )
    return members


@write
def pool_members_set(*, actor, pool, weights, basis="", removed=(), added=None, reason=""):
    """Set the weights of the members, take members out, add one.

    Parameters
    ----------
    actor : Person
    pool : PollenPool
    weights : dict of {tree key: Decimal or None}
        For members; one that is left out keeps its weight.
    basis : str
        How the weights are known, written on every member whose weight changes.
    removed : iterable of tree keys
    added : (PedigreeTree, Decimal or None), optional
    reason : str
        Needed when lots or trees name the pool.

    Raises
    ------
    django.core.exceptions.ValidationError
        When only some members would have a weight, a weight is not above 0, the tree is a member already, nothing changes, or the
        reason is missing.
    """
    pool = _locked(pool, reason)
    members = {member.tree_id: member for member in pool.members.select_related("tree")}
    removed = set(removed)
    after = {key: weights.get(key, member.weight) for key, member in members.items() if key not in removed}
    if added:
        if added[0].pk in members:
            raise ValidationError({"added": f"{added[0].code} is a member already. Change its weight in its row."})
        _refuse_offspring(pool, [added[0]])
        after[added[0].pk] = added[1]
    _check_weights(after, members | ({added[0].pk: PollenPoolMember(tree=added[0])} if added else {}))
    changes = {}
    for key in removed & members.keys():
        changes[members[key].tree.code] = [_weight_words(members[key].weight), "taken out"]
        state_note(PollenPoolMember, members[key])
        members[key].delete()
    for key, weight in after.items():
        if key not in members:
            PollenPoolMember.objects.create(pool=pool, tree=added[0], weight=weight, basis=basis.strip() if weight else "")
            changes[added[0].code] = ["", _weight_words(weight)]
        elif weight != members[key].weight:
            member = members[key]
            changes[member.tree.code] = [_weight_words(member.weight), _weight_words(weight)]
            member.weight, member.basis = weight, basis.strip() if weight is not None else ""
            member.save(update_fields=["weight", "basis"])
    if not changes:
        raise ValidationError("Nothing has changed. Enter a weight, tick a member to take it out, or give a tree to add.")
    audit_record(actor=actor, verb="pollenpool.members_changed", obj=pool, changes=changes, reason=reason.strip())
    return pool


def _refuse_offspring(pool, trees):
    """A tree that descends from the pool cannot have fathered it."""
    if pool.pk not in ancestor_rows([tree.pk for tree in trees])[1]:
        return
    if wrong := [tree.code for tree in trees if pool.pk in ancestor_rows([tree.pk])[1]]:
        raise ValidationError(
            f"{', '.join(wrong[:5])} descends from this pool and cannot be in it. Check its parents, or the orchard of the pool."
        )


def _check_weights(after, members):
    if wrong := [members[key].tree.code for key, weight in after.items() if weight is not None and weight <= 0]:
        raise ValidationError(f"The weight of {', '.join(wrong[:5])} is not above 0. Give one above 0, or take the tree out.")
    without = sorted(members[key].tree.code for key, weight in after.items() if weight is None)
    if without and len(without) < len(after):
        more = f" and {len(without) - 5} more" if len(without) > 5 else ""
        raise ValidationError(
            f"{len(without)} of {amount_words(len(after), 'members')} would have no weight: {', '.join(without[:5])}{more}. "
            "Give every member a weight, or none."
        )


def _locked(pool, reason):
    """The pool, locked; refused without a reason where lots or trees name it."""
    PollenPool.objects.select_for_update().get(pk=pool.pk)
    is_named = Lot.objects.filter(pollen_pool=pool).exists() or PedigreeTree.objects.filter(pollen_pool=pool).exists()
    if is_named and not reason.strip():
        raise ValidationError({"reason": "Lots or trees name this pool as their father. Say why it is changed."})
    return pool


def _weight_words(weight):
    return "member without a weight" if weight is None else f"weight {weight.normalize():f}"
