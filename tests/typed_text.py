"""A world in which every text that a person can type would become an element of the page, if a page did not escape it."""

from html.parser import HTMLParser

from django.apps import apps
from django.db import IntegrityError, connection, models, transaction
from django.db.models import F, Value
from django.db.models.functions import Cast, Concat, Left

from registry.models.append_only import unprotect_statements
from registry.selectors.audit.record_hashes import append_only_models

TYPED = "\"'><typed>&"
SHORT = "<typed>"  # where the column has no room for more

# texts nobody types: the program writes them and looks something up by them
WRITTEN_BY_THE_PROGRAM = {
    "OwnMeasurement.code",  # small letters, digits and _ only; protocols and records name it
    "IssuedReport.level",  # one of the levels of lineage
    "Person.password", "SheetUpload.kind", "ColumnMapping.kind", "StoredFile.sha256", "AuditEntry.sha256", "AuditEntry.previous_sha256",
}  # fmt: skip
LISTS = {
    "AuthorizationVersion": ("under", "classes", "taxa", "lots", "sites", "people"),
    "MaterialClass": ("taxa",),
    "Requirement": ("classes", "taxa"),
    "CautionText": ("site_codes",),
    "PollenPool": ("outside_classes",),
}


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
    for model in apps.get_models():
        for name in LISTS.get(model.__name__, ()):
            models.QuerySet(model).update(**{name: [TYPED]})
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
