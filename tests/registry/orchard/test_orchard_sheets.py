"""Sheets of the orchard: pools and members, status history, shares, evidence.

Names, scores and shares are made for these tests.
"""

import datetime

import pytest

from registry.imports.identity.evidence import IdentityEvidenceSheet, MeasuredShareSheet
from registry.imports.orchard.orchard import TreeStatusSheet
from registry.imports.pedigree.trees import PedigreeTreeSheet, PollenPoolMemberSheet, PollenPoolSheet
from registry.models import (
    AuditEntry,
    IdentityEvidence,
    MeasuredShare,
    PedigreeTree,
    PollenPool,
    PollenPoolMember,
    TreeStatusRecord,
)
from tests import factories
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db


@pytest.fixture
def trees():
    return [factories.pedigree_tree(code=code, orchard="Home", planted_year=2010) for code in ("A", "B", "C")]


# -- pools -------------------------------------------------------------------------------------

POOL = "Pool,Orchard,Orchard block,Flowering year,Day of flowering,Taxon of outside pollen,Declared selfing share (0-1)\n"


MEMBER = "Pool,Tree,Weight of its pollen (any unit),How the weight is known\n"


@pytest.fixture
def pool():
    return PollenPool.objects.create(code="P", orchard="Home", flowering_year=2019)


def test_a_pool_has_a_flowering_day_and_an_outside_species(trees):
    factories.taxon(name="Juglans cinerea")
    load(PollenPoolSheet, POOL + "P,Home,,2019,2019-05-24,Juglans cinerea,0.125\n")
    pool = PollenPool.objects.get()
    assert (pool.flowered_on, pool.outside_taxon.name, str(pool.selfing_share)) == (datetime.date(2019, 5, 24), "Juglans cinerea", "0.125")
    assert written_and_read(PollenPoolSheet) == 1
    assert "has more than 3 decimals" in refused(PollenPoolSheet, POOL + "P,Home,,2019,,,0.1251\n")[0]


def test_members_of_a_pool_are_loaded_with_their_weights(trees, pool):
    load(PollenPoolMemberSheet, MEMBER + "P,A,140,catkins\nP,B,60.5,catkins\n")
    assert list(PollenPoolMember.objects.values_list("tree__code", "weight", "basis")) == [("A", 140, "catkins"), ("B", 60.5, "catkins")]
    assert written_and_read(PollenPoolMemberSheet) == 2


def test_weights_are_changed_and_members_added_by_one_sheet(trees, pool):
    load(PollenPoolMemberSheet, MEMBER + "P,A,,\nP,B,,\n")
    plan = load(PollenPoolMemberSheet, MEMBER + "P,C,3,catkins\nP,A,1,catkins\nP,B,2,catkins\n", reason="counted afterwards")
    assert (plan.counts["changed"], plan.counts["new"]) == (2, 1)
    rows = PollenPoolMember.objects.order_by("tree__code").values_list("weight", "basis")
    assert list(rows) == [(1, "catkins"), (2, "catkins"), (3, "catkins")]
    assert AuditEntry.objects.filter(verb="pollenpool.members_changed", reason="counted afterwards").count() == 2


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("P,A,5,\nP,B,,\n", "row 3: 1 of 2 members would have no weight: B. Give every member a weight, or none."),
        ("P,A,0,\n", "row 2, column 'Weight of its pollen (any unit)': '0' is not above 0"),
        ("P,A,,catkins\n", "row 2, column 'How the weight is known': 'catkins' says how a weight is known, but the row has no weight"),
        ("P,A,1.23456,\n", "row 2, column 'Weight of its pollen (any unit)': '1.23456' has more than 4 decimals"),
        ("P,Z,,\n", "row 2, column 'Tree': 'Z' is not the code of a pedigree tree on file"),
    ],
)
def test_a_member_that_cannot_be_is_named_with_its_row(trees, pool, rows, says):
    assert refused(PollenPoolMemberSheet, MEMBER + rows)[0].startswith(says)
    assert not PollenPoolMember.objects.exists()


# -- status history ----------------------------------------------------------------------------

STATUS = "Tree,Status,On (blank if the day is unknown),Reason,Stump treated (yes/no; blank if unknown)\n"


def test_status_rows_in_any_order_leave_the_last_on_the_tree(trees):
    load(
        TreeStatusSheet,
        STATUS + "A,rogued,2019-03-12,canker,yes\nA,dead,2013-05-28,no leaves,\nA,standing,2013-07-16,leafed out,\nB,dead,,gone,\n",
    )
    tree = PedigreeTree.objects.get(code="A")
    assert (tree.status, tree.status_on, tree.status_reason) == ("rogued", datetime.date(2019, 3, 12), "canker")
    assert PedigreeTree.objects.get(code="B").status == "dead"
    assert written_and_read(TreeStatusSheet) == 4


def test_a_status_row_that_differs_adds_a_step_that_counts(trees):
    load(TreeStatusSheet, STATUS + "A,rogued,2019-03-12,canker,\n")
    assert load(TreeStatusSheet, STATUS + "A,rogued,2019-03-12,canker,yes\n", reason="treated the day after").counts["changed"] == 1
    assert list(TreeStatusRecord.objects.order_by("pk").values_list("stump_treated", "reason")) == [(None, "canker"), (True, "canker")]
    assert written_and_read(TreeStatusSheet) == 1


def test_roguing_by_sheet_against_a_decision_gives_a_warning(trees):
    factories.decision(PedigreeTree.objects.get(code="A"), "rogued")
    factories.decision(PedigreeTree.objects.get(code="B"), "kept")
    plan = load(TreeStatusSheet, STATUS + "A,rogued,2020-03-12,canker,\nB,rogued,2020-03-12,canker,\nC,dead,2020-03-12,canker,\n")
    [warning] = plan.warnings
    assert str(warning).startswith("row 3, column 'Tree': 'B' is rogued, and the last decision of two people is “kept”")
    assert PedigreeTree.objects.get(code="B").status == "rogued"


def test_a_status_written_on_the_tree_and_its_history_are_one(trees):
    load(
        PedigreeTreeSheet,
        f"Tree,Binomial,Status,Status since,Reason for status,Generation\nA,{trees[0].taxon},dead,2014-08-15,canker,native\n",
        reason="found dead",
    )
    assert load(TreeStatusSheet, STATUS + "A,dead,2014-08-15,canker,\n").counts["unchanged"] == 1
    assert TreeStatusRecord.objects.count() == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("A,rogued,2019-03-12,,\n", "row 2, column 'Reason': is blank, and a new row needs it"),
        (
            "A,dead,2019-03-12,canker,yes\n",
            "row 2, column 'Stump treated (yes/no; blank if unknown)': 'yes' Only a rogued tree leaves a stump",
        ),
        ("A,rogued,2009-03-12,canker,\n", "row 2, column 'On (blank if the day is unknown)': '2009-03-12' A was planted in 2010"),
        ("A,felled,2019-03-12,canker,\n", "row 2, column 'Status': 'felled' is not in the list; write one of standing, rogued, dead"),
        ("A,dead,2019-03-12,x,\nA,rogued,2019-03-12,x,\n", "row 3, column 'Status': 'rogued' contradicts row 2"),
    ],
)
def test_a_step_that_cannot_be_is_named_with_its_row(trees, row, says):
    assert refused(TreeStatusSheet, STATUS + row)[0].startswith(says)
    assert not TreeStatusRecord.objects.exists()


# -- shares and evidence -----------------------------------------------------------------------

SHARE = "Tree,Lot,Sampled on,Donor share (0-1),Standard error (0-1),Plants genotyped (count),Method\n"


EVIDENCE = "Tree,Lot,Pollen pool,Checked on,Evidence,Outcome,Checked by,What was seen\n"


def test_measured_share_sheets_are_loaded_and_read_back(trees):
    lot = factories.seed_lot()
    load(MeasuredShareSheet, SHARE + f"A,,2021-06-15,0.0713,0.009,1,SNP panel\n,{lot.code},2021-06-22,0.066,0.0061,24,SNP panel\n")
    assert [str(share.donor_share) for share in MeasuredShare.objects.order_by("pk")] == ["0.0713", "0.0660"]
    assert written_and_read(MeasuredShareSheet) == 2


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (",,2021-06-15,0.07,,1,SNP\n", "row 2, column 'Tree': give one of Tree or Lot"),
        ("A,{lot},2021-06-15,0.07,,1,SNP\n", "row 2, column 'Lot': give one of Tree or Lot, not more than one"),
        ("A,,2021-06-15,7.1,,1,SNP\n", "row 2, column 'Donor share (0-1)': '7.1' is outside 0 to 1"),
        ("A,,2021-06-15,0.07,,0,SNP\n", "row 2, column 'Plants genotyped (count)': '0' is outside 1 and more"),
        ("A,,2021-06-15,0.07,,1,SNP\nA,,2021-06-15,0.08,,1,SNP\n", "row 3, column 'Donor share (0-1)': '0.08' contradicts row 2, which says '0.07' for the same tree A, sampled on 2021-06-15"),
    ],
)  # fmt: skip
def test_a_share_that_cannot_be_is_named_with_its_row(trees, row, says):
    assert refused(MeasuredShareSheet, SHARE + row.format(lot=factories.seed_lot().code))[0].startswith(says)
    assert not MeasuredShare.objects.exists()


def test_evidence_sheets_are_loaded_and_read_back(trees, pool):
    lot = factories.seed_lot()
    rows = f"A,,,2021-07-08,genotype,contradicts,Lab,father excluded\n,{lot.code},,2021-07-08,label,supports,R. One,both labels\n"
    load(IdentityEvidenceSheet, EVIDENCE + rows + ",,P,2021-07-08,record,open,R. One,map lost\n")
    assert [str(evidence) for evidence in IdentityEvidence.objects.order_by("pk")] == [
        "A: contradicts the identity", f"{lot.code}: supports the identity", "P: leaves it open",
    ]  # fmt: skip
    assert written_and_read(IdentityEvidenceSheet) == 3


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (",,,2021-07-08,label,supports,R,seen\n", "row 2, column 'Tree': give one of Tree, Lot or Pollen pool"),
        ("A,,,2199-07-08,label,supports,R,seen\n", "row 2, column 'Checked on': '2199-07-08' This date has not come yet"),
        (
            "A,,,2021-07-08,label,yes,R,seen\n",
            "row 2, column 'Outcome': 'yes' is not in the list; write one of supports, contradicts, open",
        ),
        ("A,,,2021-07-08,label,supports,R,\n", "row 2, column 'What was seen': is blank, and a new row needs it"),
    ],
)
def test_evidence_that_cannot_be_is_named_with_its_row(trees, row, says):
    assert refused(IdentityEvidenceSheet, EVIDENCE + row)[0].startswith(says)
    assert not IdentityEvidence.objects.exists()
