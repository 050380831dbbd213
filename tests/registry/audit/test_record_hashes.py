"""The hash of a row: its fast writing equals the canonical text of the row as a whole."""

from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from plantings.models import Observation
from plantings.services.census.observations import CensusRow, observations_record
from registry.calc.audit.chain import canonical_text, text_sha256
from registry.calc.shared.part_dates import PartDate
from registry.models import AuditEntry, Person
from registry.selectors.audit import record_hashes as hashing
from registry.selectors.audit.record_hashes import _BLANK, _written, json_value, record_hashes
from tests import factories

_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(), lambda parts: st.lists(parts) | st.dictionaries(st.text(), parts)
)
_VALUES = (
    _JSON | st.uuids() | st.dates() | st.datetimes(timezones=st.just(UTC) | st.just(timezone(timedelta(hours=-4))))
    | st.decimals(allow_nan=False, allow_infinity=False)
)  # fmt: skip


@given(_VALUES)
@example(-0.0)
@example(True)
@example(Decimal("1.50"))
@example('×\u2028"\\\n')
@example(UUID(int=1))
@example(datetime(2026, 3, 1, 23, 30, tzinfo=timezone(timedelta(hours=-4))))
@example(date(2026, 3, 1))
@example(PartDate(2026))
def test_a_column_is_written_as_canonical_json(value):
    expected = "" if value in _BLANK else canonical_text(json_value(value))
    assert _written(value) == expected


def _row_by_row(model):
    """Hashes of records as Django gives them, each written as a whole."""
    for record in model._base_manager.order_by("pk"):
        values = {field.attname: getattr(record, field.attname) for field in model._meta.concrete_fields}
        written = {name: json_value(value) for name, value in values.items() if value not in _BLANK}
        yield record.pk, text_sha256("", canonical_text(written))


@pytest.mark.django_db
@pytest.mark.parametrize("shared_most", [10_000, 0])
def test_rows_read_by_columns_have_the_hashes_of_each_alone(monkeypatch, shared_most):
    monkeypatch.setattr(hashing, "_CHUNK", 3)
    monkeypatch.setattr(hashing, "_SHARED_MOST", shared_most)
    actor, planting = factories.person(), factories.planting()
    census_round, days = factories.census_round(planting), [date(2019, 9, 1), PartDate(2019, 9), PartDate(2019)]
    sizes = [0.0, -0.0, 1.0, 1, None, 40.25, 0.0]
    rows = [
        CensusRow(
            census_round.pk, tree.pk, status="A", observed_on=days[number % 3], height_cm=size, canker_class=number % 2,
            note=["", 'a "quote" × \n', "plain"][number % 3], uuid=uuid4(),
        )
        for number, (tree, size) in enumerate(zip(factories.trees(planting, count=7, actor=actor), sizes, strict=True))
    ]  # fmt: skip
    observations_record(actor=actor, rows=rows)
    for model in (Observation, AuditEntry, Person):
        expected = list(_row_by_row(model))
        assert len(expected) == model._base_manager.count() > 0
        assert list(record_hashes(model._base_manager.all())) == expected
