"""Records laid out by columns are as laid out record by record, the later over the earlier. The expected arrays are made record by record."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.codes import UNSEEN, status_code
from plantings.selectors.census.tallies import lay_out

TREES, ROUNDS = [31, 7, 12], [5, 2]
_RECORD = st.tuples(
    st.sampled_from(TREES), st.sampled_from(ROUNDS), st.sampled_from(["A", "D", "NF", "RM", "NV"]),
    st.sampled_from(["", "frost", "sanitation"]), st.sampled_from([None, 0, 3]),
)  # fmt: skip


@given(st.lists(_RECORD, max_size=20))
def test_columns_are_laid_out_as_single_records(records):
    status, cause = np.zeros((3, 2), np.uint8), np.zeros((3, 2), np.uint8)
    canker, causes = np.full((3, 2), -1, np.int8), [""]
    for tree, round_pk, code, said, canker_class in records:
        place = TREES.index(tree), ROUNDS.index(round_pk)
        status[place] = status_code(code, said)
        if said:
            causes += [said] if said not in causes else []
            cause[place] = causes.index(said)
        if canker_class is not None and code not in UNSEEN:
            canker[place] = canker_class
    known = [""]
    found = lay_out(iter(records), TREES, ROUNDS, known)
    assert known == causes
    for array, expected in zip(found, (status, canker, cause), strict=True):
        assert array.tolist() == expected.tolist()
        assert array.dtype == expected.dtype
