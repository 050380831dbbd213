"""What a round asks for at each tree, and so what its records may say."""

from plantings.calc.census.measurements import FIELD_FORM, MEASUREMENTS, measured_at
from plantings.models import OwnMeasurement

__all__ = ["asked_at", "asked_by", "own_at", "own_measurements", "protocol_asks"]

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
