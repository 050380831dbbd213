"""The hash of a row: its fast writing equals the canonical text of the row as a whole."""

from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID

from hypothesis import example, given
from hypothesis import strategies as st

from registry.calc.audit.chain import canonical_text
from registry.calc.shared.part_dates import PartDate
from registry.selectors.audit.record_hashes import _BLANK, _written, json_value

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
