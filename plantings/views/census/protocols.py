"""What the census asks for: the programme's own measurements and the protocols, each change as a new version."""

from django.views.generic import FormView

from plantings.forms.protocols import MeasurementForm, MeasurementVersionForm, MeasurementWordsForm, ProtocolForm, ProtocolVersionForm
from plantings.imports.protocols import OwnMeasurementSheet, ProtocolSheet
from plantings.models import CensusRound, OwnMeasurement, Protocol
from plantings.selectors.census.asked import asked_by, languages_without, measurement_words, measurements_listed, protocols_listed
from plantings.services.census.protocols import measurement_add, measurement_say, protocol_add
from plantings.views.sites.sites import PLANTING_LISTS
from registry.access.languages import LANGUAGE_NAMES, OTHER_LANGUAGES
from registry.views.shared.addresses import record_url
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import NewVersionView, RecordActionView, ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section, as_written
from registry.views.shared.tables import Column, Link


def range_words(item):
    """What a measurement can be, in words: 0 to 30 m, or its codes."""
    if item.classes:
        return ", ".join(str(code) for code in item.codes)
    return f"{item.low:,g} to {item.high:,g} {item.unit}".strip()


def growth_words(item):
    """What a number that only grows may do from one reading to the next; blank for any other."""
    if item.growth is None:
        return ""
    most = item.growth.gain_a_year
    words = f"only grows; a later reading may be less by {item.growth.loss:,g} {item.unit}"
    return words if most is None else f"{words}, and more by {most:,g} {item.unit} a year"


def _without_words(record):
    """The languages in which crews read a listed measurement in English."""
    return ", ".join(LANGUAGE_NAMES[language] for language in OTHER_LANGUAGES if not getattr(record, f"in_{language}"))


def _missing_languages(page):
    return ", ".join(LANGUAGE_NAMES[language] for language in languages_without(page.object.definition))


def _class_lines(classes):
    return "\n".join(f"{code} = {words}" for code, words in classes)


def _version_words(record):
    return "newest" if record.version == record.latest else f"version {record.latest} is newer"


class MeasurementListView(RecordListView):
    model = OwnMeasurement
    action = "protocol.view"
    title = "Own measurements"
    question = "What does the programme measure besides what Mastbook knows?"
    unit = "versions"
    others = PLANTING_LISTS
    sheet = OwnMeasurementSheet
    add = ("New measurement", "protocol.edit", "ownmeasurement_add")
    empty = ("No own measurement yet", "Define one here, then list it in a protocol. Each later change is a new version.", None)
    read = staticmethod(measurements_listed)
    order = ("code", "-version")
    columns = (
        Column("Measurement", "name", url=record_url),
        Column("Code", "field"),
        Column("Values", lambda record: range_words(record.in_english)),
        Column("How it is taken", "taken", wide=True),
        Column("From growing season", "from_season", "right"),
        Column("Not on file in", _without_words),
        Column("State", _version_words),
    )


_VERSIONS = Section(
    title="Versions",
    unit="versions",
    rows=lambda page: page.versions,
    columns=lambda page, versions: (
        Column("Version", "version", url=lambda record: None if record == page.object else record_url(record)),
        Column("Written on", "entered_at", kind="date"),
        Column("Written by", lambda record: str(record.entered_by or "not recorded")),
    ),
)


class _VersionsMixin:
    """The versions of the code of a record, newest first; none where there is one only."""

    @property
    def versions(self):
        versions = list(self.scoped(self.model).filter(code=self.object.code).select_related("entered_by").order_by("-version"))
        return versions if len(versions) > 1 else []


class MeasurementDetailView(_VersionsMixin, RecordDetailView):
    model = OwnMeasurement
    action = "protocol.view"
    title = "{object.name} ({object.field})"
    question = "What is measured, and how is it taken?"
    code = ""  # on no path of material, so there is nothing to trace
    state = property(lambda page: f"version {page.object.version}")
    facts = (
        Fact("Values", lambda page: range_words(page.object.definition)),
        Fact("From one reading to the next", lambda page: growth_words(page.object.definition)),
        Fact("How it is taken", "taken"),
        Fact("Asked for from growing season", "from_season"),
        Fact("Not on file in", _missing_languages),
    )
    actions = (
        Action("Write its words in French", "ownmeasurement_words", "protocol.edit"),
        Action("Write a new version", "ownmeasurement_edit", "protocol.edit"),
    )
    sections = (
        Section(
            title="Classes",
            unit="classes",
            rows=lambda page: page.object.definition.classes,
            columns=(Column("Code", "code", kind="code"), Column("Meaning", "label", wide=True)),
        ),
        Section(
            title="In other languages",
            unit="translations",
            rows=lambda page: measurement_words(page.object),
            columns=(
                Column("Language", lambda words: LANGUAGE_NAMES[words.language]),
                Column("Name", "name"),
                Column("How it is taken", "taken", wide=True),
                Column("Unit", "unit"),
                Column("Classes", lambda words: "; ".join(words.classes), wide=True),
                Column("Written on", "entered_at", kind="date"),
                Column("Written by", lambda words: str(words.entered_by or "not recorded")),
            ),
            missing="words in other languages",
        ),
        Section(
            title="Protocols that ask for it",
            unit="protocols",
            rows=lambda page: [record for record in page.scoped(Protocol) if page.object.field in record.asks],
            columns=(Column("Protocol", str, url=record_url),),
            missing="protocols that ask for it",
        ),
        _VERSIONS,
    )


class MeasurementAddView(ServiceFormMixin, FormView):
    action = "protocol.edit"
    form_class = MeasurementForm
    title = "New measurement"
    question = "What will the crew measure or look for, and how?"
    submit_label = "Save the measurement"
    success_message = "Measurement saved. A protocol that lists it makes rounds ask for it."
    service = measurement_add
    back_to = "ownmeasurement_list"
    leads_to = property(lambda page: page.result)


class MeasurementVersionView(NewVersionView):
    model = OwnMeasurement
    action = "protocol.edit"
    form_class = MeasurementVersionForm
    title = "New version of {object.name}"
    question = "What changes from now on? Values that were taken stay with their version."
    success_message = "New version saved. Protocols ask for the version they list until they get a new version too."
    service = measurement_add
    starts_with = ("name", "taken", "from_season", "unit", "low", "high", "whole", "loss_most", "gain_most")

    @property
    def initial(self):
        return super().initial | {"classes": _class_lines(self.object.classes)}


class MeasurementWordsView(RecordActionView):
    model = OwnMeasurement
    argument = "measurement"
    action = "protocol.edit"
    form_class = MeasurementWordsForm
    title = "{object.name} ({object.field}) in another language"
    question = "What do crews read who do not read English?"
    submit_label = "Save the words"
    success_message = "Words saved. Phones show them after they fetch the round again. The version and its values stay."
    service = measurement_say
    form_extras = property(lambda page: {"measurement": page.object})
    leads_to = property(lambda page: page.object)

    @property
    def initial(self):
        """The words on file; without any, those of an earlier version of the same classes, to look through again."""
        found = measurement_words(self.object, earlier=True)
        if not found:
            return {"classes": "\n".join(f"{code} = " for code, _words in self.object.classes)}
        words = found[0]
        codes = [code for code, _words in self.object.classes]
        classes = zip(codes, words.classes, strict=False) if len(codes) == len(words.classes) else ((code, "") for code in codes)
        return {name: getattr(words, name) for name in ("language", "name", "taken", "unit")} | {"classes": _class_lines(classes)}


class ProtocolListView(RecordListView):
    model = Protocol
    action = "protocol.view"
    title = "Census protocols"
    question = "What do census rounds ask for at each tree, in which version?"
    unit = "versions"
    others = PLANTING_LISTS
    sheet = ProtocolSheet
    add = ("New protocol", "protocol.edit", "protocol_add")
    empty = (
        "No protocol yet",
        "Without a protocol a round asks for all that the field form has. Write one to ask for other things.",
        None,
    )
    read = staticmethod(protocols_listed)
    order = ("code", "-version")
    columns = (
        Column("Protocol", "code", kind="code", url=record_url),
        Column("Version", "version", "right"),
        Column("Rounds", "used", "right", "number"),
        Column("Asks for", lambda record: ", ".join(record.asks).replace("_", " ") or "the status only", wide=True),
        Column("State", _version_words),
    )


class ProtocolDetailView(_VersionsMixin, RecordDetailView):
    model = Protocol
    action = "protocol.view"
    question = "What does a round of this protocol ask for at each tree?"
    code = ""
    state = property(lambda page: f"version {page.object.version}")
    actions = (Action("Write a new version", "protocol_edit", "protocol.edit"),)
    sections = (
        Section(
            title="Asked for at each tree",
            unit="measurements",
            note="In this order, besides the status, the cause of a death and a note.",
            rows=lambda page: asked_by(page.object),
            columns=(
                Column("Measurement", "label"),
                Column("Values", range_words),
                Column("From growing season", "from_season", "right"),
                Column("How it is taken", "taken", wide=True),
            ),
            missing="measurements: rounds ask for the status only",
        ),
        as_written("How the round is done", "about"),
        Section(
            title="Rounds of this version",
            unit="rounds",
            rows=lambda page: page.scoped(CensusRound).filter(protocol=page.object).select_related("planting").order_by("-opens_on", "pk"),
            most=PART_ROWS_MAX,
            columns=(
                Column("Round", "label", url=record_url),
                Column("Planting", "planting.code", kind="code", url=Link("planting_detail", "planting_id")),
                Column("Opens", "opens_on", kind="date"),
            ),
            missing="rounds of this version",
        ),
        _VERSIONS,
    )


class ProtocolAddView(ServiceFormMixin, FormView):
    action = "protocol.edit"
    form_class = ProtocolForm
    title = "New protocol"
    question = "What will rounds of this protocol ask for?"
    submit_label = "Save the protocol"
    success_message = "Protocol saved. Choose it on the page of a round."
    service = protocol_add
    back_to = "protocol_list"
    leads_to = property(lambda page: page.result)


class ProtocolVersionView(NewVersionView):
    model = Protocol
    action = "protocol.edit"
    form_class = ProtocolVersionForm
    title = "New version of protocol {object.code}"
    question = "What will rounds ask for from now on? Rounds of an earlier version stay with it."
    success_message = "New version saved. Choose it on the page of a round."
    service = protocol_add
    starts_with = ("asks", "about")
