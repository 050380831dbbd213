"""Sheets of the places: sites, plantings, their blocks and rounds."""

from plantings import choices
from plantings.imports.sites.outlines import AnswerCell, OutlineCell, outline_questions
from plantings.models import Block, CensusRound, Planting, Site
from plantings.selectors.census.asked import protocol_named
from plantings.services.plantings import planting_save, round_save
from plantings.services.sites import site_save, site_set_outline
from registry.choices import ProgrammeKey
from registry.imports.gate.code_cells import CodesCell
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell, PartDateCell
from registry.imports.sheets.cells.records import RecordCell, RecordsCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.plan import UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import Authorization, Partner, Person
from registry.selectors.people.programme import setting

_OF_OUTLINE = {"boundary", "boundary_is_right"}
_NO_FOREST = {"", "AQ"}  # at sea, and Antarctica


def _point(item):
    """(longitude, latitude) a row leaves its site with; None without both."""
    point = tuple(item.values.get(name, getattr(item.current, name, None)) for name in ("longitude", "latitude"))
    return None if None in point else point


def _regions(points):
    """(code of the place, code of the place with longitude and latitude exchanged) of each point; "" where there is none."""
    from plantings.maps.jurisdiction import find_jurisdictions, shipped_layers

    exchanged = [(latitude, max(-90.0, min(90.0, longitude))) for longitude, latitude in points]
    codes = [answer.code or "" for answer in find_jurisdictions([*points, *exchanged], shipped_layers())]
    return [
        (there, other if abs(point[0]) <= 90 else "")  # no latitude is beyond 90
        for point, there, other in zip(points, codes[: len(points)], codes[len(points) :], strict=True)
    ]


def _doubt(there, exchanged, expected):
    """What is odd about a place; "" for nothing. `expected` is the region of the partner, or of the programme."""
    country, other, home = (code.partition("-")[0] for code in (there, exchanged, expected))
    nowhere = country in _NO_FOREST
    hint = f" With longitude and latitude exchanged the point is in {exchanged}: check which is which."
    if nowhere and other not in _NO_FOREST and home in {"", other}:
        return f"The point is {f'in {there}' if there else 'in no country'}.{hint}"
    if nowhere:
        return f"The point is {f'in {there}' if there else 'in no country, perhaps at sea'}. Check longitude, latitude and their signs."
    return f"The point is in {there}.{hint}" if home and country != home and other == home else ""


def _is_same(stored, read):
    from plantings.maps.outline_shapes import is_same_outline

    return is_same_outline(*(getattr(outline, "geojson", outline) for outline in (stored, read)))


class SiteSheet(Sheet):
    kind = "site"
    title = "Sites"
    about = (
        "Places where trees are planted, on a partner's land. The jurisdiction is found from the point. A map file brings boundaries too: "
        "GeoJSON, GeoPackage, KML or a zipped shapefile, one row for each shape."
    )
    edit_action = "site.edit"
    model = Site
    key = ("code",)

    code = SheetField("Site", "code", TextCell(40), required=True, example="ST-04")
    name = SheetField("Name", "name", TextCell(120), required=True, example="Example Hollow")
    partner = SheetField("Partner", "partner", RecordCell(Partner), required=True, example="PT-03")
    longitude = SheetField("Longitude (degrees, WGS 84)", "longitude", NumberCell(-180, 180), example=-73.215)
    latitude = SheetField("Latitude (degrees, WGS 84)", "latitude", NumberCell(-90, 90), example=44.481)
    boundary = SheetField("Boundary", "boundary", OutlineCell(), help="from a map file")
    boundary_is_right = SheetField("Boundary is right (yes/no)", "boundary_is_right", AnswerCell(), help="yes, where this was asked")
    county = SheetField("County, typed (not checked)", "county", TextCell(60), example="")
    elevation_m = SheetField("Elevation (m)", "elevation_m", NumberCell(-500, 9000), example=310)
    light = SheetField("Light", "light", TextCell(120), example="two-age cut 2018, 40 % canopy")
    soil = SheetField("Soil", "soil", TextCell(120), example="loam, well drained")
    disease_history = SheetField("Disease history", "disease_history", TextCell(), example="")
    protection = SheetField("Protection", "protection", TextCell(), example="fence 2.4 m since 2020-04-20")
    access_notes = SheetField("Access", "access_notes", TextCell(), example="gate on the north road")
    access_notes_fr = SheetField("Access (French)", "access_notes_fr", TextCell(), example="barrière sur le chemin du nord")
    cautions = SheetField("Cautions", "cautions", TextCell(), example="dead limbs along the east edge")
    cautions_fr = SheetField("Cautions (French)", "cautions_fr", TextCell(), example="branches mortes le long du bord est")
    status = SheetField("Status", "status", ChoiceCell(choices.site_statuses), example="active")
    status_reason = SheetField("Reason for status", "status_reason", TextCell(200), example="", was=("Reason of status",))

    def stored_records(self):
        return super().stored_records().select_related("partner")

    def check_items(self, plan):
        """Ask about boundaries that may be of another place, and warn of points that may be."""
        for item in plan.items:
            if item.outcome != UNCHANGED and "boundary" in item.values:
                self._check_outline(item, plan)
        self._check_points(plan)

    def _check_outline(self, item, plan):
        outline, header = item.values["boundary"], self.header("boundary")
        said = self.shown("boundary", outline)
        for note in outline.notes:
            plan.warnings.append(Problem(item.row, header, said, note))
        questions = outline_questions(outline, _point(item))
        if questions and not item.values.get("boundary_is_right"):
            message = f"{' '.join(questions)} If it is right, give “{self.header('boundary_is_right')}” as yes for this row."
            self._add_problem(plan, Problem(item.row, header, said, message))

    def _check_points(self, plan):
        """Warn of points where there is no forest, and of those that seem to have longitude and latitude exchanged."""
        placed = [(item, point) for item in plan.items if item.outcome != UNCHANGED and (point := _point(item))]
        if not placed:
            return
        home = setting(ProgrammeKey.HOME_REGION).partition("/")[0]
        for (item, point), (there, exchanged) in zip(placed, _regions([point for _item, point in placed]), strict=True):
            partner = item.values.get("partner") or getattr(item.current, "partner", None)
            message = _doubt(there, exchanged, getattr(partner, "region", "") or home)
            if message:
                plan.warnings.append(Problem(item.row, self.header("longitude"), f"{point[0]}, {point[1]}", message))

    def differences(self, before, after):
        """As for any sheet, but a boundary is the same wherever its rings begin, and the answer about it is on no record."""
        found = super().differences(before, {name: value for name, value in after.items() if name not in _OF_OUTLINE})
        if "boundary" in after and not _is_same(before.get("boundary"), after["boundary"]):
            found.append("boundary")
        return found

    def save_row(self, values, item, actor, reason):
        others = {name: value for name, value in values.items() if name not in _OF_OUTLINE}
        changed = set(item.changes or values)
        site = super().save_row(others, item, actor, reason) if changed & set(others) else item.current
        if "boundary" in changed:
            site_set_outline(actor=actor, site=site, outline=values["boundary"], source="a map file", reason=reason)
        return site

    def save_record(self, record, many, actor, reason):
        return site_save(actor=actor, site=record, county=record.county if self.county_typed(record) else None, reason=reason)

    @staticmethod
    def county_typed(record):
        """Whether a row names another county than the one on file."""
        stored = Site.objects.filter(pk=record.pk).values_list("county", flat=True).first() if record.pk else ""
        return bool(record.county) and record.county != stored


class PlantingSheet(Sheet):
    kind = "planting"
    title = "Plantings"
    about = "Sets of trees at a site. Supply says where the plants came from: shipment, own_stock or before_records."
    edit_action = "planting.edit"
    model = Planting
    key = ("code",)

    code = SheetField("Planting", "code", TextCell(40), required=True, example="ST-04-2020")
    site = SheetField("Site", "site", RecordCell(Site), required=True, example="ST-04")
    planted_on = SheetField("Planted on", "planted_on", PartDateCell(), example="2020-04-20")
    state = SheetField("State", "state", ChoiceCell(choices.planting_states), example="established")
    supply = SheetField("Supply", "supply", ChoiceCell(choices.supplies), example="shipment")
    stock_type = SheetField("Stock type", "stock_type", TextCell(60), example="bareroot 1-0")
    trees_left_out = SheetField("Some planted trees are not on record (yes/no)", "trees_left_out", YesNoCell(), example="no")
    design = SheetField("Design", "design", TextCell(160), example="complete blocks, single-tree plots")
    spacing_m = SheetField("Spacing (m)", "spacing_m", NumberCell(0.1, 100), example=3)
    start_corner = SheetField("Start corner", "start_corner", TextCell(80), example="south-west, red post")
    start_corner_fr = SheetField("Start corner (French)", "start_corner_fr", TextCell(100), example="sud-ouest, poteau rouge")
    walk = SheetField("Walk order", "walk", ChoiceCell(choices.walk_orders), example="serpentine")
    crew = SheetField("Crew (sign-in names)", "crew", RecordsCell(Person, by="username"), example="a.volunteer")
    done_by = SheetField("Who plants", "done_by", CodesCell(), example="")
    authorizations = SheetField("Papers", "authorizations", RecordsCell(Authorization), example="EX-PERMIT-1")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("site").prefetch_related("crew", "authorizations")

    def save_record(self, record, many, actor, reason):
        return planting_save(actor=actor, planting=record, many=many, reason=reason)


class BlockSheet(Sheet):
    kind = "block"
    title = "Blocks"
    about = "Blocks or plots of a planting, with their points. Trees name their block; it is made when it is not here."
    edit_action = "planting.edit"
    model = Block
    key = ("planting", "code")

    planting = SheetField("Planting", "planting", RecordCell(Planting), required=True, example="ST-04-2020")
    code = SheetField("Block", "code", TextCell(40), required=True, example="1")
    longitude = SheetField("Longitude (degrees, WGS 84)", "longitude", NumberCell(-180, 180), example=-73.2151)
    latitude = SheetField("Latitude (degrees, WGS 84)", "latitude", NumberCell(-90, 90), example=44.4812)

    def stored_records(self):
        return super().stored_records().select_related("planting")


class RoundSheet(Sheet):
    kind = "round"
    title = "Census rounds"
    about = (
        "One yearly visit to a planting. Age is growing seasons completed. A protocol version that is on file, such as “standard version "
        "2”, decides what the round asks for; other words are only shown with the results."
    )
    edit_action = "round.edit"
    model = CensusRound
    key = ("planting", "label")

    planting = SheetField("Planting", "planting", RecordCell(Planting), required=True, example="ST-04-2020")
    label = SheetField("Season", "label", TextCell(40), required=True, example="2020 autumn")
    growing_seasons = SheetField("Growing seasons completed", "growing_seasons", NumberCell(0, 300, whole=True), required=True, example=1)
    opens_on = SheetField("Opens", "opens_on", DateCell(), required=True, example="2020-09-01")
    closes_on = SheetField("Closes", "closes_on", DateCell(), required=True, example="2020-10-15")
    protocol_version = SheetField("Protocol version", "protocol_version", TextCell(40), example="2020.1")

    def stored_records(self):
        return super().stored_records().select_related("planting")

    def export_rows(self, queryset):
        return queryset.select_related("planting")

    def save_record(self, record, many, actor, reason):
        record.protocol = protocol_named(record.protocol_version)
        return round_save(actor=actor, census_round=record, reason=reason)
