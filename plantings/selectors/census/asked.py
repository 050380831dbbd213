"""What a round asks for at each tree, and so what its records may say."""

from django.db.models import Count, Max, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce

from plantings.calc.census.measurements import DIAMETER_AT, FIELD_FORM, MEASUREMENTS, measured_at
from plantings.models import Observation, OwnMeasurement, Protocol
from registry.selectors.shared.local_text import local_text

__all__ = [
    "asked_at",
    "asked_text",
    "asked_by",
    "measured_numbers",
    "measurements_listed",
    "own_at",
    "own_measurements",
    "own_of",
    "protocol_asks",
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
    """The measurements of a protocol, in its order. One query where some are of the programme's own."""
    names = [name for name in protocol.asks if name not in _TABLE]
    codes = {name.rpartition("_v")[0] for name in names}
    own = {record.field: record.definition for record in OwnMeasurement.objects.filter(code__in=codes)} if names else {}
    return tuple((_TABLE | own)[name] for name in protocol.asks)


def own_at(census_round):
    """The programme's own measurements among those of a round."""
    return tuple(item for item in protocol_asks(census_round) or () if item.is_own)


def own_measurements():
    """Every version of every measurement of the programme's own, by code and version. One query."""
    return tuple(record.definition for record in OwnMeasurement.objects.order_by("code", "version"))


def measured_numbers():
    """What is measured of a tree as a number, with the programme's own; the height at which a diameter is taken is not one. One query."""
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
    return Protocol.objects.filter(code=code, version=version).first() if version.isascii() and version.isdecimal() else None


def measurements_listed(queryset):
    """Measurements with `latest`, the newest version of their code."""
    return queryset.annotate(latest=_latest(OwnMeasurement))


def protocols_listed(queryset):
    """Protocols with `latest`, the newest version of their code, and `used`, the number of their rounds."""
    return queryset.annotate(latest=_latest(Protocol), used=Count("rounds"))


def _latest(model):
    versions = model.objects.filter(code=OuterRef("code")).order_by().values("code").annotate(latest=Max("version"))
    return Coalesce(Subquery(versions.values("latest")), 0)


def asked_text(item, text):
    """A text about a measurement in the language of the reader; what the programme wrote of its own one stays as written."""
    return text if item.is_own else local_text(text)
