"""A sheet of trees that becomes records of nine kinds, its mapping, and what it stores: for the tests of combined sheets."""

from plantings.imports.combined.loading import combined_load
from tests import factories

HEAD = "Site,Family,Plot,Tag,Height,State,Seen"
ROWS = ["Hollow,F1,1,H1,20,alive,2020-09-12", "Hollow,F2,1,H2,,dead,2020-09-12", "Ridge,F1,,R1,35,alive,2020-09-14"]
KINDS = {
    "census": {
        "columns": {
            "planting": "Site", "round": {"constant": "2020"}, "tag": "Tag", "observed_on": "Seen", "height_cm": "Height",
            "status": {"from": "State", "values": {"alive": "A", "dead": "D"}, "rest": "refuse"},
        }
    },
    "taxon": {"columns": {"name": {"constant": "Juglans cinerea"}, "role": {"constant": "native"}}},
    "lot": {
        "columns": {
            "code": "Family", "lot_kind": {"constant": "stock"}, "taxon": {"constant": "Juglans cinerea"}, "origin": {"constant": "outside"},
            "outside_origin": {"constant": "as in the sheet"},
        }
    },
    "partner": {"columns": {"code": {"constant": "PT-1"}, "name": {"constant": "Owner"}, "partner_kind": {"constant": "trust"}}},
    "site": {"columns": {"code": "Site", "name": "Site", "partner": {"constant": "PT-1"}}},
    "planting": {
        "columns": {
            "code": "Site", "site": "Site", "planted_on": {"constant": "2019-04-15"}, "state": {"constant": "established"},
            "supply": {"constant": "before_records"},
        }
    },
    "block": {"columns": {"planting": "Site", "code": "Plot"}, "rows": [{"column": "Plot", "blank": False}]},
    "tree": {"columns": {"planting": "Site", "tag": "Tag", "lot": "Family", "block": "Plot"}},
    "round": {
        "columns": {
            "planting": "Site", "label": {"constant": "2020"}, "growing_seasons": {"constant": "1"}, "opens_on": {"constant": "2020-09-01"},
            "closes_on": {"constant": "2020-10-15"},
        }
    },
}  # fmt: skip
MAPPING = {"parts": KINDS}
# a second sheet, joined to the first
PLOTS = b"Block,Lon,Lat\n1,-73.2,44.4\n2,-73.3,44.5\n"
BESIDE = {"second_sheets": {"plots": {"file": "plots.csv", "by": {"Plot": "Block"}}}}
POINTS = {
    "block": {"columns": KINDS["block"]["columns"] | {"longitude": "plots.Lon", "latitude": "plots.Lat"}} | {"rows": KINDS["block"]["rows"]}
}
JOINED = BESIDE | {"parts": KINDS | POINTS}
NEW = {"taxon": 1, "lot": 2, "partner": 1, "site": 2, "planting": 2, "block": 1, "tree": 3, "round": 2, "census": 3}


def sheet(*rows):
    return "\n".join([HEAD, *(rows or ROWS)]).encode()


def load(content, spec=MAPPING, **given):
    return combined_load(actor=given.pop("actor", None) or factories.person(), content=content, filename="trees.csv", spec=spec, **given)


def new(plan):
    return {kind: counts.get("new", 0) for kind, counts in plan.counts.items()}
