"""Counts with their units in the language of the reader, as `calc.shared.screen` writes them in English.

Only the units that volunteers and landowners read are here; of any other the English is shown.
"""

from django.utils.translation import ngettext

from registry.calc.shared.screen import unit_words
from registry.selectors.shared.local_words import local_count

__all__ = ["local_amount", "local_unit"]

_UNITS = {
    "blocks": lambda n: ngettext("block", "blocks", n),
    "cautions": lambda n: ngettext("caution", "cautions", n),
    "censuses": lambda n: ngettext("census", "censuses", n),
    "changes": lambda n: ngettext("change", "changes", n),
    "checks": lambda n: ngettext("check", "checks", n),
    "classes": lambda n: ngettext("class", "classes", n),
    "codes": lambda n: ngettext("code", "codes", n),
    "counts": lambda n: ngettext("count", "counts", n),
    "dates": lambda n: ngettext("date", "dates", n),
    "days": lambda n: ngettext("day", "days", n),
    "entries": lambda n: ngettext("entry", "entries", n),
    "differences": lambda n: ngettext("difference", "differences", n),
    "draws": lambda n: ngettext("draw", "draws", n),
    "duties": lambda n: ngettext("duty", "duties", n),
    "files": lambda n: ngettext("file", "files", n),
    "growing seasons": lambda n: ngettext("growing season", "growing seasons", n),
    "leftovers": lambda n: ngettext("leftover", "leftovers", n),
    "lineages": lambda n: ngettext("lineage", "lineages", n),
    "lines": lambda n: ngettext("line", "lines", n),
    "lots": lambda n: ngettext("lot", "lots", n),
    "measurements": lambda n: ngettext("measurement", "measurements", n),
    "minutes": lambda n: ngettext("minute", "minutes", n),
    "origins": lambda n: ngettext("origin", "origins", n),
    "papers": lambda n: ngettext("paper", "papers", n),
    "partners": lambda n: ngettext("partner", "partners", n),
    "people": lambda n: ngettext("person", "people", n),
    "photos": lambda n: ngettext("photo", "photos", n),
    "places": lambda n: ngettext("place", "places", n),
    "plantings": lambda n: ngettext("planting", "plantings", n),
    "plants": lambda n: ngettext("plant", "plants", n),
    "plots": lambda n: ngettext("plot", "plots", n),
    "prints": lambda n: ngettext("print", "prints", n),
    "receipts": lambda n: ngettext("receipt", "receipts", n),
    "records": lambda n: ngettext("record", "records", n),
    "reviews": lambda n: ngettext("review", "reviews", n),
    "rounds": lambda n: ngettext("round", "rounds", n),
    "rows": lambda n: ngettext("row", "rows", n),
    "seedlings": lambda n: ngettext("seedling", "seedlings", n),
    "seeds": lambda n: ngettext("seed", "seeds", n),
    "shipments": lambda n: ngettext("shipment", "shipments", n),
    "sites": lambda n: ngettext("site", "sites", n),
    "tags": lambda n: ngettext("tag", "tags", n),
    "trees": lambda n: ngettext("tree", "trees", n),
    "versions": lambda n: ngettext("version", "versions", n),
    "weeks": lambda n: ngettext("week", "weeks", n),
    "years": lambda n: ngettext("year", "years", n),
}


def local_unit(count, unit):
    """The unit as it is written behind a count: its singular behind one, in French also behind none."""
    return _UNITS[unit](abs(count)) if unit in _UNITS else unit_words(count, unit)


def local_amount(count, unit):
    """A count with its unit: '1 tree', '1,204 trees'."""
    return f"{local_count(count)} {local_unit(count, unit)}"
