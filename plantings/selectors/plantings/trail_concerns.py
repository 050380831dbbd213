"""What the audit entries of this app concern of the figures that a process holds, and which planting a record of an entry belongs to."""

from collections import defaultdict

from plantings.models import CensusRound, CountedPlot, Planting, PlantingEntry, SecondDraw, Tree
from registry.selectors.shared.trail_concerns import Concern

__all__ = ["CONCERNS", "plantings_of"]

CONCERNS = {
    **dict.fromkeys(
        (
            # the planting itself, what is planted there, its census; a site concerns its plantings
            "site", "planting", "plantingentry", "tree", "countedplot", "censusround", "observation", "plotcount", "review", "countreview",
            "survivaltally", "roundprogress", "causetally", "reviewtally", "roundresult", "seconddraw", "secondtree", "secondmeasurement",
            "formpage", "pagekeying", "keyingsettlement",  # what two keyings of a page disagree on is a line of Today
        ),
        Concern.PARTS,
    ),
    **dict.fromkeys(("block", "ownmeasurement", "measurementwords", "protocol"), Concern.ANSWERS),
    **dict.fromkeys(
        (
            "planting.self_sown_recorded", "selfsown", "entrysupply", "treetag", "photo", "cautionsread", "roundlink", "formscan",
            "issuedreport", "withdrawnrecord", "censusround.cautions_read", "censusround.form_scanned",
        ),
        Concern.NOTHING,
    ),
    "boundarylayer": Concern.EVERYTHING,
}  # fmt: skip
_PLANTING_OF = {
    "tree": (Tree, "planting"), "countedplot": (CountedPlot, "planting"), "censusround": (CensusRound, "planting"),
    "plantingentry": (PlantingEntry, "planting"), "seconddraw": (SecondDraw, "round__planting"),
}  # fmt: skip


def plantings_of(record_type, keys):
    """{key of a record: set with the key of its planting} of those that have one; of a site all its plantings."""
    if record_type == "planting":
        return {key: {key} for key in keys}
    if record_type == "site":
        rows = Planting._base_manager.filter(site__in=keys).values_list("site", "pk")
        found = {key: set() for key in keys}  # a site without a planting, also one that is gone, concerns none
    elif record_type in _PLANTING_OF:
        model, path = _PLANTING_OF[record_type]
        rows = model._base_manager.filter(pk__in=keys, **{f"{path}__isnull": False}).values_list("pk", path)
        found = defaultdict(set)
    else:
        return {}
    for key, planting in rows:
        found[key].add(planting)
    return found
