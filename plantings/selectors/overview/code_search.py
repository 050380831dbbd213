"""One box takes any code of the spine: what carries it, as far as this person may see."""

from dataclasses import dataclass

from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from plantings.models import Planting, Site, Tree, TreeTag, WithdrawnRecord
from plantings.selectors.field_form.pages import page_of_code
from registry.models import Authorization, Duty, Incident, Lot, Partner, PedigreeTree, PollenPool, Shipment

__all__ = ["CODED", "Hit", "code_find"]

_HITS_MAX = 50


@dataclass(frozen=True, slots=True)
class Hit:
    kind: str
    code: str
    what: str
    url: str
    record: object = None


# word of the kind, model, action that opens it, fields that hold the code, fields to look into when no code fits
CODED = (
    (_("lot"), Lot, "lot.view", ("code",), ("code",)),
    (_("shipment"), Shipment, "shipment.view", ("code",), ("code",)),
    (_("mother tree"), PedigreeTree, "pedigree.view", ("code",), ("code",)),
    (_("pollen pool"), PollenPool, "pedigree.view", ("code",), ("code",)),
    (_("paper"), Authorization, "authorization.view", ("code", "issuer_reference"), ("code", "title")),
    (_("partner"), Partner, "partner.view", ("code",), ("code", "name")),
    (_("site"), Site, "site.view", ("code",), ("code", "name")),
    (_("planting"), Planting, "planting.view", ("code",), ("code",)),
)
# as CODED; found by their code, and no step of the spine that could be traced
UNTRACED = (
    (_("duty"), Duty, "duty.view", ("code",), ("code", "title")),
    (_("incident"), Incident, "incident.view", ("code",), ("code", "title")),
)


def code_find(user, text):
    """Hits for what somebody typed: records with exactly this code; failing that, records whose code or name holds it."""
    text = text.strip()
    if not text:
        return []
    if page := page_of_code(user, text):
        what = f"page {page.number} of {page.count} of a field form, {page.round}"
        return [Hit("field form", page.code, what, reverse("formpage_key", args=[page.pk]))]
    exact = _records(user, text, "iexact", 3) + (_trees(user, text) or _withdrawn_trees(user, text))
    return exact[:_HITS_MAX] or _records(user, text, "icontains", 4)[:_HITS_MAX]


def _records(user, text, lookup, fields_at):
    hits = []
    for kind in (*CODED, *UNTRACED):
        word, model, action = kind[:3]
        if not user.may(action):
            continue
        condition = Q()
        for name in kind[fields_at]:
            condition |= Q(**{f"{name}__{lookup}": text})
        for record in model.objects.for_user(user).filter(condition)[:_HITS_MAX]:
            url = reverse(f"{model._meta.model_name}_detail", args=[record.pk])
            hits.append(Hit(word, record.code, str(record), url, record if kind in CODED else None))
    return hits


def _trees(user, text):
    """Trees by tag, or by planting/tag; a tag a tree carried earlier finds it too."""
    planting, slash, tag = text.rpartition("/")
    trees = Tree.objects.for_user(user).select_related("planting", "entry__lot")
    if slash:
        trees = trees.filter(planting__code__iexact=planting)
    # keys first: an index answers that alone, where whole rows would be read through a table of a million trees
    keys = {*trees.filter(tag__iexact=tag).order_by().values_list("pk", flat=True)[:_HITS_MAX]}
    keys |= {*TreeTag.objects.filter(tag__iexact=tag).order_by().values_list("tree", flat=True)[:_HITS_MAX]}
    hits = []
    for tree in trees.filter(pk__in=keys)[:_HITS_MAX]:
        same = tree.tag.casefold() == tag.casefold()
        words = _("tree of planting %(planting)s") if same else _("tree of planting %(planting)s (formerly %(tag)s)")
        what = words % {"planting": tree.planting.code, "tag": tag}
        hits.append(Hit(_("tree"), str(tree), what, reverse("tree_detail", args=[tree.pk]), tree))
    return hits


def _withdrawn_trees(user, text):
    """Trees of withdrawn loads by tag, or by planting/tag, for who may see the loads."""
    if not (user.may("import.run") and user.may("census.enter")):
        return []
    planting, slash, tag = text.rpartition("/")
    found = WithdrawnRecord.objects.for_user(user).filter(tree__tag__iexact=tag).select_related("tree", "plot", "round")
    if slash:
        found = found.filter(planting_code__iexact=planting)
    return [
        Hit("tree", str(one), f"never planted: load {one.load_id} was withdrawn", reverse("load_detail", args=[one.load_id]))
        for one in found[:_HITS_MAX]
    ]
