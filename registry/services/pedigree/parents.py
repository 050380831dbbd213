"""Saving a tree or a lot, neither of which may become its own ancestor."""

from django.core.exceptions import ValidationError

from registry.models import AuditHead
from registry.selectors.pedigree.generations import generation_fault, generation_of_parents
from registry.selectors.pedigree.loops import loop_words, lot_loop, tree_loop
from registry.services.audit.write import write
from registry.services.shared.records import record_save

__all__ = ["fill_generation", "lot_refuse_loop", "lot_save", "tree_refuse_loop", "tree_save"]

_TREE_PARENTS = ("mother_id", "father_id", "pollen_pool_id")
_LOT_PARENTS = ("parent_id",)


@write
def tree_save(*, actor, tree, many=None, reason="", loops_later=False):
    """Store a tree of the pedigree. Where no generation is stated, it gets the one its parents give.

    Parameters
    ----------
    loops_later : bool
        A sheet that changes the parents of several trees calls `tree_refuse_loop` at the end: in between there may be loops. It has
        compared the generations of all its rows already.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field; where it would be its own ancestor, by its mother, its father or the members of its pollen pool, with the
        codes along the loop; where a generation that is new, or has new parents, averages another share than the parents do.
    """
    if not loops_later and _moved(tree, _TREE_PARENTS):
        tree_refuse_loop(tree)
    if not loops_later:
        _refuse_generation(tree)
    fill_generation(tree)
    return record_save(actor=actor, obj=tree, many=many, reason=reason)


@write
def lot_save(*, actor, lot, many=None, reason="", loops_later=False):
    """Store a lot; as `tree_save`, by its parent lot and the components of bulks."""
    if not loops_later and _moved(lot, _LOT_PARENTS):
        lot_refuse_loop(lot)
    if not loops_later:
        _refuse_generation(lot)
    fill_generation(lot)
    return record_save(actor=actor, obj=lot, many=many, reason=reason)


def _refuse_generation(record):
    """What is on file stays as it is until its generation or its parents change: an old record can still get another note."""
    names = (*_TREE_PARENTS, "backcrosses", "intercrosses", "generation_other")
    before = type(record).objects.filter(pk=record.pk).values(*names).first() if record.pk else None
    if (before is None or any(before[name] != getattr(record, name) for name in names)) and (fault := generation_fault(record)):
        raise ValidationError({"generation": f"{fault}."})


def fill_generation(record):
    """Give a tree or a harvested lot without a stated generation the one its parents give, if they give one."""
    if record.generation is None:
        found = generation_of_parents(record)
        if found:
            record.backcrosses, record.intercrosses, record.generation_other = found.backcrosses, found.intercrosses, found.other


def tree_refuse_loop(tree):
    """Raise ValidationError when a tree, with the parents it has now, is its own ancestor."""
    _line_up()
    loop = tree_loop(tree)
    if loop:
        kind, key = loop[1]
        field = "pollen_pool" if kind == "pool" else "mother" if key == tree.mother_id else "father"
        raise ValidationError({field: f"{tree.code} would be its own ancestor: {loop_words(loop)}. Correct one of these parents."})


def lot_refuse_loop(lot, component=None):
    """Raise ValidationError when a lot, with the parent it has now and perhaps one more component, is its own component."""
    _line_up()
    loop = lot_loop(lot, component)
    if loop:
        field = "parent" if component is None else "component"
        raise ValidationError({field: f"{lot.code} would be its own component: {loop_words(loop)}. Correct one of these lots."})


def _moved(record, names):
    """Whether a stored record gets other parents. A record that is not stored yet has no descendants, so it is in no loop."""
    before = type(record).objects.select_for_update(no_key=True).filter(pk=record.pk).values(*names).first() if record.pk else None
    return before is not None and any(before[name] != getattr(record, name) for name in names)


def _line_up():
    """Two people at once could each make half of a loop: writers wait for one another at the head of the audit trail."""
    list(AuditHead.objects.select_for_update().values_list("pk"))
