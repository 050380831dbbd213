"""What a round asks for at each tree, and so what its records may say."""

from django.db.models import Count, Exists, Max, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.utils.translation import get_language

from plantings.calc.census.measurements import DIAMETER_AT, FIELD_FORM, MEASUREMENTS, measured_at
from plantings.models import MeasurementWords, Observation, OwnMeasurement, Protocol
from registry.access.languages import OFFICE_LANGUAGE, OTHER_LANGUAGES
from registry.calc.shared.record_keys import is_record_key
from registry.selectors.safety.cautions import EnglishWords, in_english
from registry.selectors.shared.local_text import local_text

__all__ = [
    "asked_at",
    "asked_hint",
    "asked_by",
    "in_english_only",
    "measured_numbers",
    "measurement_words",
    "measurements_listed",
    "languages_without",
    "named_of",
    "own_at",
    "own_measurements",
    "own_of",
    "protocol_asks",
    "said_of",
    "protocol_named",
    "protocols_listed",
    "recorded_besides",
]

_TABLE = {item.name: item for item in MEASUREMENTS}


def asked_at(census_round, place=FIELD_FORM):
    """The measurements that a round asks for at a place, in order: those of its protocol, else those of the table."""
    asked = protocol_asks(census_round)
    return measured_at(place) if asked is None else asked


def protocol_asks(census_round):
    """All that the protocol of a round asks for at the age of its trees; None where it has none. No query without a protocol."""
    if census_round.protocol_id is None:
        return None
    return tuple(item for item in asked_by(census_round.protocol) if item.from_season <= census_round.growing_seasons)


def asked_by(protocol):
    """The measurements of a protocol, in its order. Two queries where some are of the programme's own: they, their other languages."""
    names = [name for name in protocol.asks if name not in _TABLE]
    codes = {name.rpartition("_v")[0] for name in names}
    own = {record.field: record.definition for record in _in_words().filter(code__in=codes)} if names else {}
    return tuple((_TABLE | own)[name] for name in protocol.asks)


def own_at(census_round):
    """The programme's own measurements among those of a round."""
    return tuple(item for item in protocol_asks(census_round) or () if item.is_own)


def own_measurements():
    """Every version of every measurement of the programme's own, by code and version. Two queries, one where there is none."""
    return tuple(record.definition for record in _in_words().order_by("code", "version"))


def _in_words():
    return OwnMeasurement.objects.prefetch_related("in_languages")


def measured_numbers():
    """What is measured of a tree as a number, with the programme's own; the height at which a diameter is taken is not one. Two queries."""
    return tuple(item for item in (*MEASUREMENTS, *own_measurements()) if not item.classes and item is not DIAMETER_AT)


def own_of(records):
    """The programme's own measurements that records hold values of. No query where they hold none."""
    fields = {field for record in records for field in record.own_values}
    return tuple(item for item in own_measurements() if item.field in fields) if fields else ()


def recorded_besides(census_round, asked):
    """The labels of measurements that records of a round hold, and that are not `asked`; `asked` None is the table without own ones."""
    records = Observation.objects.unsuperseded().filter(round=census_round).order_by()
    columns = [item for item in MEASUREMENTS if asked is not None and item not in asked]
    held = records.aggregate(**{item.name: Count(item.field, filter=~Q(**{item.field: item.blank})) for item in columns}) if columns else {}
    known = {item.field for item in asked or () if item.is_own}
    own = {field for values in records.values_list("own_values", flat=True).distinct() for field in values}
    return [*(item.label for item in columns if held[item.name]), *sorted(own - known)]


def protocol_named(words):
    """The protocol that a round names in words, or None."""
    code, _, version = words.rpartition(" version ")
    return Protocol.objects.filter(code=code, version=version).first() if is_record_key(version) else None


def measurements_listed(queryset):
    """Measurements with `latest`, the newest version of their code, and `in_fr`: whether they have words in French, so of each language."""
    said = MeasurementWords.objects.filter(measurement=OuterRef("pk")).order_by()
    words = {f"in_{language}": Exists(said.filter(language=language)) for language in OTHER_LANGUAGES}
    return queryset.annotate(latest=_latest(OwnMeasurement), **words)


def protocols_listed(queryset):
    """Protocols with `latest`, the newest version of their code, and `used`, the number of their rounds."""
    return queryset.annotate(latest=_latest(Protocol), used=Count("rounds"))


def _latest(model):
    versions = model.objects.filter(code=OuterRef("code")).order_by().values("code").annotate(latest=Max("version"))
    return Coalesce(Subquery(versions.values("latest")), 0)


def measurement_words(measurement, earlier=False):
    """The newest words of a version of an own measurement in each other language; with `earlier` else those of the version before that
    has any."""
    found = MeasurementWords.objects.filter(measurement__code=measurement.code, measurement__version__lte=measurement.version)
    if not earlier:
        found = found.filter(measurement=measurement)
    newest = {words.language: words for words in found.select_related("entered_by").order_by("measurement__version", "pk")}
    return [newest[language] for language in OTHER_LANGUAGES if language in newest]


def languages_without(item):
    """The languages that an own measurement has no words in."""
    return [language for language in OTHER_LANGUAGES if language not in item.label.others]


def in_english_only(item):
    """Whether a measurement has no words in the language that is on: those of the programme's own, where nobody wrote them."""
    language = get_language() or OFFICE_LANGUAGE
    return item.is_own and language != OFFICE_LANGUAGE and language in languages_without(item)


def said_of(item, words):
    """A line about a measurement, put together in the language that is on: marked as English where its words are."""
    return in_english(words) if in_english_only(item) else words


def named_of(item, words):
    """A name of a measurement, such as the head of its column: in HTML with its language where its words are in English alone."""
    return EnglishWords(words) if in_english_only(item) else words


def asked_hint(item):
    """What is beside the short label of a measurement, in the language of the reader: its unit, or the span of its numbered classes."""
    return item.hint if item.classes else local_text(item.unit)
