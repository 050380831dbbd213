"""What the inputs are given to: each parser and each page, with the one kind of refusal it may answer with."""

import io
import re
import tempfile
import zipfile
from pathlib import Path

from django.core.exceptions import ValidationError
from django.core.management import CommandError
from django.db import transaction
from django.test import Client

from plantings.calc.census.photos import phone_jpeg, read_photo
from plantings.calc.phone.reading import UnreadableRecord
from plantings.forms.sheets import MappingForm, mapping_initial, parse_rule
from plantings.imports.combined.loading import combined_plan
from plantings.imports.kinds import KINDS
from plantings.imports.loading import plan_file, plan_trial, sheet_load
from plantings.imports.withdrawing import load_take_back
from plantings.maps.boundary_files import read_boundary, read_layer
from plantings.maps.geo_files import BoundaryFileError
from plantings.maps.outline_shapes import OutlineError, outline_from_text
from plantings.models import Planting, Site, Tree
from plantings.views.api.description import API_VIEWS
from registry.calc.pedigree.generation import parse_generation
from registry.calc.sheets.length import rows_about
from registry.choices import ProgrammeKey
from registry.compliance.gate.place_codes import check_region
from registry.compliance.gate.places import read_pattern
from registry.imports.loads.rest import rest_bytes, rest_load
from registry.imports.sheets.formats import export_bytes
from registry.imports.sheets.mapping import missing_headers
from registry.imports.sheets.plan import ReasonMissing, SheetRefused
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import read_table, sheet_names
from registry.models import Lot, Partner, PedigreeTree
from registry.selectors.people.programme import parse_setting
from tests.factories import jpeg
from tests.fuzz import inputs
from tests.fuzz.from_outside import FromOutside
from tests.fuzz.unexpected import Unexpected, in_words
from tests.places import PROJECT
from tests.project.access_table import PUBLIC, address, routes
from tests.project.one_of_everything import world
from tests.typed_text import Form, html_of

_READ_BY_NAME = re.compile(r"GET(?:\.get\(\s*|\[)\"(\w+)\"")


def names_read():
    """What a view reads from the address by its name."""
    pages = (path for app in ("registry", "plantings") for path in (PROJECT / app / "views").rglob("*.py"))
    return sorted({name for path in pages for name in _READ_BY_NAME.findall(path.read_text(encoding="utf-8"))})


class Targets(FromOutside):
    """A world of records and everything that reads what somebody sends. Nothing an input stores is kept."""

    def __init__(self):
        people, records, special = world()
        self.lead = people["lead"]
        self.client = Client(raise_request_exception=True)
        self.client.force_login(self.lead)
        self.pages = sorted(address(name, pattern, records, special) for name, pattern, _view in routes() if name not in PUBLIC)
        self.known = [
            str(code) for model in (Lot, Partner, PedigreeTree, Site, Planting) for code in model.objects.values_list("code", flat=True)[:5]
        ] + list(Tree.objects.values_list("tag", flat=True)[:3])  # fmt: skip
        self.stored = {kind: rows for kind in KINDS if (rows := self._stored(kind))}
        self.api = {name: address(name, pattern, records, special) for name, pattern, _view in routes() if name in API_VIEWS}
        self.boxes, self.forms = {}, {}
        self.names = names_read()
        zipped, package = _map_files()
        self.map_files = (zipped.getvalue(), package)
        self.open_doors(people, records, special)
        # how often each is tried in a hundred inputs
        self.all = {
            self.page: 14,
            self.form: 7,
            self.sheet: 20,
            self.mapped: 12,
            self.aside: 4,
            self.folder: 1,
            self.combined: 6,
            self.table: 6,
            self.shapes: 6,
            self.map_sheet: 6,
            self.layer: 3,
            self.words: 4,
            self.photo: 2,
            self.pedigree: 1,
            self.link_page: 3,
            self.program: 3,
            self.batch: 4,
            self.sent_file: 4,
            self.restored: 1,
            self.command: 1,
        }

    def _stored(self, kind):
        """(headers, [rows]) of the records of a kind, as its sheet is downloaded."""
        sheet = KINDS[kind].with_own_columns()
        try:
            table = read_table(export_bytes(sheet, sheet().get_queryset(), "csv", self.lead), "stored.csv", ReadingOptions())
        except SheetError:  # nothing is on file
            return None
        return table.rows and (table.headers, table.rows)

    def near(self, random, kind):
        """(headers, row) of a sheet of a kind that is right, or nearly so: its example, or a record that is on file."""
        if kind in self.stored and random.random() < 0.6:
            headers, rows = self.stored[kind]
            return headers, random.choice(rows)
        return KINDS[kind].template_rows()

    def try_one(self, random):
        """Give one input to one target; returns its name. Raises `Unexpected` with the input unless it is read or refused in words."""
        [target] = random.choices(list(self.all), list(self.all.values()))
        tried = []
        try:
            with transaction.atomic():
                target(random, tried)
                transaction.set_rollback(True)
        except (SheetError, BoundaryFileError, CommandError) as refused:
            if not str(refused).strip():
                raise Unexpected(f"{target.__name__}: a refusal without words for {tried!r:.3000}") from refused
        except Exception as fault:
            raise Unexpected(f"{target.__name__}: {type(fault).__name__}: {fault!s:.300} for {tried!r:.1500}") from fault
        return target.__name__

    def page(self, random, tried):
        path = random.choice(self.pages)
        if path not in self.boxes:
            with transaction.atomic():
                html = html_of(self.client.get(path))
                transaction.set_rollback(True)
            self.boxes[path] = sorted(set(re.findall(r'<(?:input|select|textarea)[^>]*\bname="([^"]+)"', html)))
        names = random.sample(self.names, 2) + random.sample(self.boxes[path], min(2, len(self.boxes[path])))
        query = {name: inputs.sent(random, 4000) for name in random.sample(names, random.randrange(1, len(names) + 1))}
        tried += [path, query]
        self._answered(self.client.get(path, query))

    def form(self, random, tried):
        path = random.choice(self.pages)
        if path not in self.forms:
            with transaction.atomic():
                self.forms[path] = Form(html_of(self.client.get(path))).filled("5")
                transaction.set_rollback(True)
        boxes = dict(self.forms[path])
        for name in random.sample(sorted(boxes), min(len(boxes), random.randrange(1, 5))):
            boxes[name] = inputs.sent(random)
        tried += [path, boxes]
        self._answered(self.client.post(path, boxes))

    def _answered(self, response):
        if response.status_code >= 500:
            raise Unexpected(f"answered with {response.status_code}")
        if response.streaming:
            b"".join(response.streaming_content)

    def sheet(self, random, tried):
        kind = random.choice(sorted(KINDS))
        content, filename = inputs.sheet(random, *self.near(random, kind), self.known)
        tried += [kind, content, filename]
        sheet, _table, plan = plan_file(kind, content, filename, {})
        plan_trial(actor=self.lead, sheet=sheet, plan=plan)

    def mapped(self, random, tried):
        kind = random.choice(sorted(KINDS))
        headers, example = self.near(random, kind)
        content, filename = inputs.sheet(random, headers, example, self.known)
        spec = inputs.mapping(random, list(KINDS[kind].sheet_fields()), headers)
        tried += [kind, spec, content]
        sheet, table, plan = plan_file(kind, content, filename, spec)
        form = MappingForm(
            initial=mapping_initial(spec, {}),
            fields=sheet.sheet_fields(),
            headers=table.headers,
            missing=missing_headers(spec, table.headers),
        )
        form.as_p()
        plan_trial(actor=self.lead, sheet=sheet, plan=plan)

    def aside(self, random, tried):
        """A sheet without its wrong rows, its rest, and the load withdrawn again."""
        kind = random.choice(sorted(KINDS))
        content, filename = inputs.sheet(random, *self.near(random, kind), self.known)
        tried += [kind, content, filename]
        with in_words(SheetRefused, ReasonMissing, ValidationError):
            load = sheet_load(actor=self.lead, kind=kind, content=content, filename=filename, reason="fuzz", set_aside=True).load
            if load is not None:
                if load.aside:
                    rest_load(rest_bytes(load, content, load.aside, random.choice(("csv", "xlsx"))), filename)
                reason = inputs.text(random)[:150].replace("\0", "")  # no form lets one through
                load_take_back(actor=self.lead, load=load, reason=reason)

    def combined(self, random, tried):
        kinds = random.sample(sorted(KINDS), 2)
        headers, example = self.near(random, kinds[0])
        content, filename = inputs.sheet(random, headers, example, self.known)
        spec = inputs.combined(random, {kind: list(KINDS[kind].sheet_fields()) for kind in kinds}, headers)
        tried += [kinds, spec, content]
        combined_plan(actor=self.lead, content=content, filename=filename, spec=spec, files={"second.csv": content})

    def table(self, random, tried):
        content, filename = inputs.sheet(random, ["Code", "Name"], ["A", "B"], self.known)
        content = inputs.damaged(random, content)
        options = {"header_row": random.randrange(1, 4), "delimiter": random.choice(("", "comma", "tab", "x"))}
        tried += [content, options]
        sheet_names(content, filename)
        rows_about(content, filename)
        read_table(content, filename, ReadingOptions.from_spec(options))

    def shapes(self, random, tried):
        content, filename = inputs.outline(random, self.map_files)
        tried += [content, filename]
        read_boundary(content, filename, source_crs=random.choice((None, "EPSG:4326", inputs.text(random))))

    def map_sheet(self, random, tried):
        """A map file sent as a sheet, and the text of one of its shapes sent in a cell."""
        content, filename = inputs.outline(random, self.map_files)
        kind = random.choice(("site", "block", "tree"))
        spec = random.choice(({}, {"crs": "EPSG:26918"}, {"crs": inputs.text(random)[:100], "sheet": inputs.text(random)}))
        drawn = inputs.shape_text(random)
        tried += [kind, content, filename, spec, drawn]
        with in_words(OutlineError):
            outline_from_text(drawn)
        sheet_names(content, filename)
        sheet, _table, plan = plan_file(kind, content, filename, spec)
        plan_trial(actor=self.lead, sheet=sheet, plan=plan)

    def layer(self, random, tried):
        content, filename = inputs.outline(random, self.map_files)
        tried += [content, filename]
        column = random.choice(("code", inputs.text(random)))
        read_layer(content, filename, code_column=column, name_column=random.choice((None, "name", "")), source_crs=inputs.text(random))

    def words(self, random, tried):
        given = inputs.text(random)
        tried.append(given)
        for read in (
            parse_generation,
            check_region,
            read_pattern,
            parse_rule,
            *(lambda text, key=key: parse_setting(key, text) for key in ProgrammeKey),
        ):
            with in_words(ValueError, ValidationError):
                read(given)

    def photo(self, random, tried):
        content = inputs.damaged(random, jpeg())
        said = {name: inputs.text(random) for name in ("uuid", "record", "at", "clock", "loaded")}
        tried += [content, said]
        for read, given in ((phone_jpeg, content), (read_photo, said)):
            with in_words(UnreadableRecord):
                read(given)


def _map_files():
    """A zipped shapefile and a GeoPackage, each of one shape."""
    import geopandas
    import shapely

    frame = geopandas.GeoDataFrame({"code": ["A"], "name": ["B"]}, geometry=[shapely.geometry.shape(inputs.OUTLINE)], crs=4326)
    made = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(made, "w") as archive:
        frame.to_file(Path(folder) / "boundary.shp")
        for path in sorted(Path(folder).iterdir()):
            archive.write(path, path.name)
        frame.to_file(Path(folder) / "places.gpkg", layer="places")
        return made, (Path(folder) / "places.gpkg").read_bytes()
