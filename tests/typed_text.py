"""A world in which every text that a person can type would become an element of the page, if a page did not escape it."""

import datetime
import uuid
from html.parser import HTMLParser

from django.apps import apps
from django.db import IntegrityError, connection, models, transaction
from django.db.models import F, Value
from django.db.models.functions import Cast, Concat, Left

from registry.models.append_only import unprotect_statements
from registry.models.shared.part_date_field import PartDateField
from registry.selectors.audit.record_hashes import append_only_models

TYPED = "\"'><typed>&"
SHORT = "<typed>"  # where the column has no room for more

# texts nobody types: the program writes them and looks something up by them
WRITTEN_BY_THE_PROGRAM = {
    "OwnMeasurement.code",  # small letters, digits and _ only; protocols and records name it
    "ProgrammeSetting.value",  # a number or a choice, checked in the form and in the sheet
    "CautionSeen.language", "CautionsRead.language", "MeasurementWords.language",  # codes of languages, from a list
    "IssuedReport.level",  # one of the levels of lineage
    "Person.password", "SheetUpload.kind", "Load.kind", "Load.sha256", "ColumnMapping.kind", "StoredFile.sha256", "AuditEntry.sha256", "AuditEntry.previous_sha256",
}  # fmt: skip
LISTS = {
    "AuthorizationVersion": ("under", "classes", "taxa", "lots", "sites", "people"),
    "MaterialClass": ("taxa",),
    "Requirement": ("classes", "taxa"),
    "CautionText": ("site_codes",),
    "PollenPool": ("outside_classes",),
    "Shipment": ("done_by",),
    "Planting": ("done_by",),
}

# texts that no page shows: hashes, weeks and addresses for the program alone, a count by the codes of causes
IN_NO_PAGE = {"PasswordAsked", "CalendarFeed", "ReminderSent", "DecisionLink", "CauseTally"}
# where the record that a made row is about may be one of several kinds: the one of the page
ABOUT = {"MeasuredShare": "tree", "IdentityEvidence": "tree", "WithdrawnRecord": "plot", "WithdrawnRow": "rating"}
# what a CHECK or a page requires
GIVEN = {"AuthorizationDraw": {"kind": "opening"}, "CautionSeen": {"language": "fr"}, "CautionsRead": {"language": "fr"}}


class Form(HTMLParser):
    """Reads a page: where an element named `typed` opens, and the boxes of the forms that are posted, by name."""

    def __init__(self, html):
        super().__init__()
        self.typed, self.boxes, self._posted, self._box = [], {}, False, ""
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "typed":
            self.typed.append(f"line {self.getpos()[0]}")
        elif tag == "form":
            self._posted = attrs.get("method") == "post"
        elif self._posted and tag in {"input", "select", "textarea"} and attrs.get("name"):
            self._box = attrs["name"]
            self.boxes.setdefault(self._box, [tag if tag != "input" else attrs.get("type", "text"), attrs.get("value", "")])
        elif self._posted and tag == "option" and attrs.get("value") and not self.boxes[self._box][1]:
            self.boxes[self._box][1] = attrs["value"]

    def handle_endtag(self, tag):
        if tag == "form":
            self._posted = False

    def filled(self, text):
        """What a person sends who types `text` into every box that takes any text, and chooses the first of each list."""
        free = {"text", "textarea", "search", "email", "tel", "url", "password"}
        return {name: text if kind in free else value for name, (kind, value) in self.boxes.items() if kind != "file"}


def html_of(response):
    """The text of a page; "" for an answer that a browser does not read as a page."""
    if not response.headers.get("Content-Type", "").startswith("text/html"):
        return ""
    return (b"".join(response.streaming_content) if response.streaming else response.content).decode()


def type_everywhere():
    """Write such a text into every column of free text of every record. Returns the columns that no row could take it in."""
    with connection.cursor() as cursor:
        for model in append_only_models():
            for statement in unprotect_statements(model._meta.db_table, connection.vendor):
                cursor.execute(statement)
    for name in without_rows():
        _make_rows(next(model for model, _field in text_columns() if model.__name__ == name))
    for model in apps.get_models():
        for name in LISTS.get(model.__name__, ()):
            models.QuerySet(model).update(**{name: [TYPED]})
    for measurement in models.QuerySet(apps.get_model("plantings.OwnMeasurement")):
        models.QuerySet(type(measurement)).filter(pk=measurement.pk).update(classes=[[code, TYPED] for code, _words in measurement.classes])
        models.QuerySet(apps.get_model("plantings.MeasurementWords")).filter(measurement=measurement).update(
            language="fr", classes=[TYPED] * len(measurement.classes)
        )
    for entry in models.QuerySet(apps.get_model("registry.AuditEntry")):
        changes = {name: [TYPED, TYPED] for name in entry.changes} if isinstance(entry.changes, dict) else entry.changes
        models.QuerySet(type(entry)).filter(pk=entry.pk).update(changes=changes)
    return [f"{model.__name__}.{field.name}" for model, field in text_columns() if not _fill(model, field)]


def text_columns():
    """(model, field) of every column of free text."""
    for model in apps.get_models():
        for field in model._meta.concrete_fields if model._meta.app_label in {"registry", "plantings"} else ():
            typed = isinstance(field, models.CharField | models.TextField) and not field.choices and not field.primary_key
            if typed and f"{model.__name__}.{field.name}" not in WRITTEN_BY_THE_PROGRAM:
                yield model, field


def without_rows():
    """The names of record types with free text that have no row, so that a test would look for nothing typed into them."""
    return sorted({model.__name__ for model, _field in text_columns() if not models.QuerySet(model).exists()} - IN_NO_PAGE)


def _make_rows(model):
    """A row about each record that a page may show it with: as little in it as the database takes."""
    needed = [field for field in model._meta.concrete_fields if not (field.null or field.primary_key or field.has_default())]
    links = [field for field in needed if field.name != "entered_by" and (field.many_to_one or field.one_to_one)]
    name = ABOUT.get(model.__name__) or links[0].name if links or model.__name__ in ABOUT else None
    about = models.QuerySet(model._meta.get_field(name).related_model) if name else [None]
    others = [field for field in needed if field.name != name]
    rows = [
        {field.name: _least(field) for field in others} | ({name: record} if name else {}) | GIVEN.get(model.__name__, {})
        for record in about
    ]
    models.QuerySet(model).bulk_create([model(**row) for row in rows])


def _least(field):
    if field.many_to_one or field.one_to_one:
        return models.QuerySet(field.related_model).first()
    if field.choices:
        return field.flatchoices[0][0]
    kinds = {
        models.DateTimeField: datetime.datetime(2026, 5, 1, tzinfo=datetime.UTC),
        models.DateField: datetime.date(2026, 5, 1),
        PartDateField: datetime.date(2026, 5, 1),
    }
    kinds |= {
        models.UUIDField: uuid.uuid4(),
        models.JSONField: [],
        models.CharField: "x",
        models.TextField: "x",
        models.BooleanField: False,
    }
    return next((value for kind, value in kinds.items() if isinstance(field, kind)), 1)


def _fill(model, field):
    room = field.max_length or 200
    text = TYPED if room >= len(TYPED) + 6 else SHORT
    numbered = Concat(Value(text), Cast(F("pk"), models.TextField()), output_field=models.TextField())
    rows = models.QuerySet(model)
    for wanted in (rows, rows.exclude(**{field.name: ""})):
        try:
            with transaction.atomic():
                wanted.update(**{field.name: Left(numbered, room)})
            return True
        except IntegrityError:
            continue
    return False
