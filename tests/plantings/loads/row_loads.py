"""Sheets of ratings, tests and storage checks, loaded and withdrawn: what the tests of withdrawn rows share."""

import csv
import io

from plantings.imports.kinds import KINDS
from plantings.imports.loading import sheet_load
from plantings.imports.withdrawing import load_take_back
from plantings.selectors.census.recount import recount_differences
from registry.models import PedigreeTree
from registry.selectors.audit.verify import verify_book
from tests import factories

REASON = "the wrong workbook"


def orchard_of(lead):
    """Two standing trees of an orchard, a scale from 1 to 5, and a lot with 400 seeds."""
    for code in ("M-1", "M-2"):
        factories.pedigree_tree(code=code, orchard="North", block="A", row=1, position=int(code[-1]))
    factories.rating_scale(name="Canker", version="1")
    return factories.seed_lot(actor=lead, seeds=400, code="L-1", mother=PedigreeTree.objects.get(code="M-1"), storage_place="shed")


def content(kind, rows):
    """A sheet of one kind, from rows of {name of the field: cell}."""
    sheet, names = KINDS[kind](), list(dict.fromkeys(name for row in rows for name in row))
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow([sheet.header(name) for name in names])
    writer.writerows([row.get(name, "") for name in names] for row in rows)
    return text.getvalue().encode()


def load(lead, kind, *rows):
    given = {"content": content(kind, rows), "filename": f"{kind}.csv", "reason": "the list of the year"}
    return sheet_load(actor=lead, kind=kind, **given).load


def withdraw(lead, found):
    return load_take_back(actor=lead, load=found, reason=REASON)


def rating(score, tree="M-1", on="2019-05-20"):
    return {
        "tree": tree, "scale_name": "Canker", "scale_version": "1", "rated_on": on, "method": "large_stem", "score": score, "rater": "R. Rater"
    }  # fmt: skip


def float_test(sound, drawn=10, on="2019-11-02"):
    return {
        "lot": "L-1", "test_kind": "float", "tested_on": on, "tested_by": "A. Tester", "seeds": 20, "sound": sound, "drawn": drawn
    }  # fmt: skip


def storage(place, discarded=0, on="2020-02-10"):
    return {"lot": "L-1", "on": on, "place": place, "discarded": discarded, "by": "A. Manager"}


def is_clean():
    return recount_differences()[1] == [] and [fault for check in verify_book() for fault in check.faults] == []
