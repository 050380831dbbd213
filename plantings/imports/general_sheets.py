"""Downloads for people who may not see everything a sheet holds. They cannot be loaded again as sheets."""

from plantings.imports.sites.sites import PlantingSheet, SiteSheet
from plantings.imports.trees import TreeSheet
from plantings.selectors.plantings.plantings import site_position
from registry.access.languages import OTHER_LANGUAGES
from registry.imports.sheets.cells.cell import Cell, SheetField

_HIDDEN = {"longitude", "latitude", "access_notes", *(f"access_notes_{language}" for language in OTHER_LANGUAGES)}
_POINT = {"longitude", "latitude", "accuracy_m", "point_is_right"}


class GeneralSiteSheet(SiteSheet):
    """Sites with their positions generalised, and without what gives the place away; each row says so."""

    about = "Sites with generalised positions."
    general_longitude = SheetField("Generalised longitude (degrees, WGS 84)", "general_longitude", Cell())
    general_latitude = SheetField("Generalised latitude (degrees, WGS 84)", "general_latitude", Cell())
    generalisation = SheetField("What was generalised", "generalisation", Cell())

    @classmethod
    def sheet_fields(cls):
        return {name: field for name, field in super().sheet_fields().items() if name not in _HIDDEN}

    def export_rows(self, queryset):
        sites = list(super().export_rows(queryset))
        for site in sites:
            where = site_position(site, exact=False)
            site.general_longitude, site.general_latitude, site.generalisation = where.longitude, where.latitude, where.note
        return sites


class OpenPlantingSheet(PlantingSheet):
    """Plantings without their papers, for those who may not open these, and without the notes, which name lots."""

    @classmethod
    def sheet_fields(cls):
        return {name: field for name, field in super().sheet_fields().items() if name not in ("authorizations", "note")}


class GeneralTreeSheet(TreeSheet):
    """Trees without their points, for those who do not see the exact place of a site."""

    about = "Trees as planted, without their points."

    @classmethod
    def sheet_fields(cls):
        return {name: field for name, field in super().sheet_fields().items() if name not in _POINT}
