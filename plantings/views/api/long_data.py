"""The long data for programs: rows of whole plantings, cut where an answer would become too long."""

from itertools import islice

from plantings.calc.api.openapi import Parameter
from plantings.calc.api.records import data_shape
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.survival.long_columns import COLUMNS, measurement_columns
from plantings.forms.survival.filters import LongDataFilters
from plantings.selectors.census.asked import own_measurements
from plantings.selectors.survival.long_data import long_data, planting_rows
from plantings.views.api.results import ResultsApiView
from registry.views.shared.problems import Problem

ROWS_MOST = 5_000
_SIZE = Parameter("size", {"type": "integer", "minimum": 1, "maximum": ROWS_MOST, "default": 2_000}, "Rows an answer, at most.")
_FROM = Parameter("from", {"type": "string", "maxLength": 60}, "Where to go on, as the address in next has it.")


class DataApiView(ResultsApiView):
    action = "survival.data"
    path, summary = "/data", "Data, tree by tree"
    form_class = LongDataFilters
    extra = (_SIZE, _FROM)

    @classmethod
    def shape_now(cls):
        return data_shape((*COLUMNS, *measurement_columns((*MEASUREMENTS, *own_measurements()))))

    def get_values(self):
        data = long_data(self.user, self.form.limits)
        names = [column.name for column in data.columns]
        code, skip = self.start(data)
        wanted, rows, go_on = self.numbers["size"], [], None
        for planting in data.plantings[data.plantings.index(code) :] if code else ():
            room = wanted - len(rows)
            if not room:
                go_on = f"{planting}:0"
                break
            found = list(islice(planting_rows(data, planting), skip, skip + room + 1))
            rows += found[:room]
            if len(found) > room:
                go_on = f"{planting}:{skip + room}"
                break
            skip = 0
        answer = {"rows": [dict(zip(names, row, strict=True)) for row in rows], "next": go_on and self.address(**{"from": go_on})}
        return data, answer

    def start(self, data):
        """(planting, rows of it to pass over) to begin with; the planting is None without any data."""
        text = self.request.GET.get("from", "")
        if not text:
            return next(iter(data.plantings), None), 0
        code, _colon, skip = text.rpartition(":")
        if code not in data.plantings or not (skip.isascii() and skip.isdigit() and len(skip) < 10):
            raise Problem(400, "Start again without from.", [("from", "This place is not in the data any longer. Start again without it.")])
        return code, int(skip)
