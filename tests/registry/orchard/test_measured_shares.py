"""Measured shares beside the expected ones, and the thresholds of the programme."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.calc.pedigree.generation import Generation
from registry.calc.pedigree.measured_share import donor_share_spread, family_spread
from registry.choices import ProgrammeKey
from registry.models import AuditEntry, MeasuredShare, PedigreeTree, ProgrammeSetting
from registry.selectors.pedigree.shares import SHARE_RELATED, expected_donor_share, share_lines
from registry.selectors.pedigree.trees import tree_share_words
from registry.selectors.people.programme import DEFAULTS, chromosome_morgans, setting, thresholds
from registry.services.orchard.shares import share_enter
from registry.services.people.programme import programme_setting_save
from registry.views.lots.lots import LotDetailView
from registry.views.orchard.shares import measured_shares_section
from tests import factories
from tests.pages import drawn_sections, record_page

pytestmark = pytest.mark.django_db


def share(record, value, error="0.02", **fields):
    of = "lot" if record._meta.model_name == "lot" else "tree"
    fields = {"method": "240 markers", "sampled_on": factories.day(2019)} | fields
    error = None if error is None else Decimal(error)
    return share_enter(actor=factories.person(), **{of: record}, donor_share=Decimal(value), standard_error=error, **fields)


def check(record):
    return share_lines([record])[0].check


def b3f2(**fields):
    return factories.pedigree_tree(backcrosses=3, intercrosses=1, **fields)


def b1f2(**fields):
    return factories.pedigree_tree(**{"backcrosses": 1, "intercrosses": 1} | fields)


def test_a_share_is_odd_only_beyond_its_error_and_spread():
    tree = b3f2(code="KW-1")
    near, far = check(share(tree, "0.09")), check(share(tree, "0.31"))
    # B3F2 averages 1/16 of the donor (Allard 1960, Principles of Plant Breeding, backcross chapter)
    assert near.expected == 0.0625
    assert (near.odd, far.odd) == (False, True)
    tree.refresh_from_db()
    assert tree.generation_code == "B3F2"


def test_a_native_tree_with_a_measured_donor_share_is_odd():
    assert check(share(factories.pedigree_tree(), "0.08")).odd
    assert check(share(factories.pedigree_tree(generation_other="outcross"), "0.9")).margin is None


def test_the_pedigree_comes_before_the_stated_generation():
    native, donor = factories.taxon(role="native"), factories.taxon(role="donor")
    founder = {"taxon": native, "generation_other": "native"}
    line = [factories.pedigree_tree(taxon=donor, generation_other="donor")]
    for step in range(4):
        line.append(factories.pedigree_tree(mother=factories.pedigree_tree(**founder), father=line[-1], backcrosses=step, intercrosses=0))
    b1, b3 = line[2], line[4]
    cross = factories.pedigree_tree(code="CROSS", mother=b1, father=b3, generation_other="")
    # the mean of both parents, 1/4 and 1/16 (Allard 1960, Principles of Plant Breeding, backcross chapter)
    assert expected_donor_share(cross) == (5 / 32, False)
    far, near = check(share(cross, "0.60")), check(share(cross, "0.20"))
    assert (far.expected, far.odd, near.odd) == (5 / 32, True, False)
    assert tree_share_words(cross) == "27/32 on average, by its pedigree"
    # a generation its parents do not bear out: the parents hold
    wrong = factories.pedigree_tree(mother=b1, father=b3, backcrosses=5, intercrosses=0)
    assert expected_donor_share(wrong) == (5 / 32, False)
    # half the pedigree unknown: the generation is all there is
    assert expected_donor_share(factories.pedigree_tree(mother=b1, backcrosses=1, intercrosses=0)) == (0.25, False)
    lot = factories.seed_lot(mother=b1, father=b3)
    assert check(share(lot, "0.16", sample_size=40)).expected == 5 / 32
    assert check(share(lot, "0.6", sample_size=40)).odd


def test_the_list_of_shares_costs_a_fixed_number_of_queries():
    def measured():
        mother = factories.pedigree_tree(mother=factories.pedigree_tree(), father=factories.pedigree_tree())
        return [
            share(factories.pedigree_tree(mother=mother, father=mother, generation_other=""), "0.1"),
            share(factories.seed_lot(mother=mother), "0.1"),
        ]

    def queries(shares):
        with CaptureQueriesContext(connection) as captured:
            share_lines(MeasuredShare.objects.filter(pk__in=[record.pk for record in shares]).select_related(*SHARE_RELATED))
        return len(captured)

    few = measured()
    assert queries(few) == queries([*few, *measured(), *measured()])


def test_the_mean_of_a_lot_sample_has_a_narrower_spread():
    lot = factories.seed_lot(backcrosses=3, intercrosses=1)
    assert check(share(lot, "0.12", "0.005", sample_size=40)).odd
    assert not check(share(b3f2(), "0.12", "0.005")).odd


def test_selfed_trees_have_the_wider_limit_of_selfing():
    one, other = (factories.pedigree_tree(backcrosses=1, intercrosses=0) for _ in range(2))
    crossed = b1f2(mother=one, father=other)
    selfed = b1f2(mother=one, father=one)
    named = b1f2(mother=one, cross_type="self")
    again = b1f2(mother=selfed, father=selfed, intercrosses=2)
    spreads = [check(share(tree, "0.25")).spread for tree in (crossed, selfed, named, again)]
    morgans = chromosome_morgans()
    # exact for the first selfing: simulated in tests/calc/pedigree/test_measured_share.py
    expected = [donor_share_spread(Generation(1, count), morgans, selfings) for count, selfings in ((1, 0), (1, 1), (1, 1), (2, 2))]
    assert spreads == pytest.approx(expected) and spreads[0] < spreads[1] < spreads[3]


def test_a_loop_of_selfings_ends():
    tree = b1f2()
    PedigreeTree.objects.filter(pk=tree.pk).update(cross_type="self")
    other = b1f2(mother=tree, cross_type="self")
    PedigreeTree.objects.filter(pk=tree.pk).update(mother=other)
    tree.refresh_from_db()
    assert check(share(tree, "0.25")).spread > 0


def test_many_plants_of_one_family_are_not_accused():
    """Offspring of a B1 mother with much donor: their mean is half hers, however many are measured."""
    native, b1 = factories.pedigree_tree(), factories.pedigree_tree(backcrosses=1, intercrosses=0)
    lot = factories.seed_lot(mother=b1, father=native, backcrosses=2, intercrosses=0)
    found = check(share(lot, "0.16", "0.001", sample_size=400))
    family = family_spread([Generation(1, 0), Generation(None, None, "native")], chromosome_morgans())
    assert found.spread > family > 0.04 and not found.odd
    # of pure parents only the plants themselves spread
    first = factories.seed_lot(mother=native, father=factories.pedigree_tree(backcrosses=0, intercrosses=0), backcrosses=1, intercrosses=0)
    assert check(share(first, "0.25", sample_size=100)).spread == pytest.approx(
        donor_share_spread(Generation(1, 0), chromosome_morgans()) / 10
    )


def test_several_samples_of_one_tree_do_not_narrow_its_spread():
    one, nine = (check(share(b1f2(), "0.25", sample_size=size)).spread for size in (1, 9))
    assert one == nine


@pytest.mark.parametrize(("fields", "field"), [({"value": "1.2"}, "__all__"), ({"error": "-0.1"}, "standard_error")])
def test_a_share_out_of_range_is_refused(fields, field):
    with pytest.raises(ValidationError) as refused:
        share(b3f2(), **{"value": "0.1"} | fields)
    assert field in refused.value.message_dict
    assert not MeasuredShare.objects.exists()


def test_measured_shares_of_trees_and_lots_are_saved_and_listed(client):
    client.force_login(factories.person("manager"))
    tree, lot = b3f2(code="KW-1"), factories.seed_lot(code="S-1", backcrosses=3, intercrosses=1)
    page = client.get(reverse("pedigreetree_share", args=[tree.pk]))
    assert "The expected donor share is 0.0625." in page.content.decode()
    data = {"donor_share": "0.31", "standard_error": "0.02", "sample_size": 1, "method": "240 markers", "sampled_on": "2020-05-01"}
    wrong = client.post(reverse("pedigreetree_share", args=[tree.pk]), data | {"donor_share": "31"})
    assert "donor_share" in wrong.context["form"].errors
    assert client.post(reverse("pedigreetree_share", args=[tree.pk]), data).status_code == 302
    assert client.post(reverse("lot_share", args=[lot.pk]), data | {"donor_share": "0.06", "sample_size": 12}).status_code == 302
    rows = {row.cells[0][0]: row for row in client.get(reverse("share_list")).context["rows"]}
    assert (rows["KW-1"].cells[6][0], rows["KW-1"].mark) == ("odd: check identity", "odd")
    # 1/16, two standard deviations of the family and of 12 plants, three standard errors of 0.02. For 16 chromosomes of 1 Morgan the
    # deviations of B3 and B4 are 0.02757 and 0.01892 (Hill 1993): those of 12 chromosomes, 0.031832 and 0.021847, times the root of 3/4
    assert [rows["S-1"].cells[place][0] for place in (5, 6)] == ["0.000 to 0.163", "within the limit"]
    assert "KW-1,2020-05-01,0.3100" in client.get(reverse("share_list"), {"download": "csv"}).content.decode()


def test_the_page_of_a_lot_shows_its_measured_shares():
    lot = factories.seed_lot(backcrosses=3, intercrosses=1)
    manager, sections = factories.person("manager"), [measured_shares_section("lot_share")]
    assert drawn_sections(record_page(LotDetailView, manager, lot), sections) == ({}, ["measured shares"], [])
    share(lot, "0.2", "0.005", sample_size=40)
    page = record_page(LotDetailView, manager, lot)
    assert "Odd: check identity." in page.shares_due()[0].text
    rows, _missing, labels = drawn_sections(page, sections)
    assert rows["Measured shares"][0][1] == Decimal("0.2000")
    assert labels == ["Enter a measured share"]
    volunteer = record_page(LotDetailView, factories.person("volunteer"), lot)
    assert (volunteer.shares_due(), *drawn_sections(volunteer, sections)) == ([], {}, [], [])


# -- thresholds --------------------------------------------------------------------------------


def keep(key, value, **fields):
    fields = {"owner": "The lead", "set_on": factories.day(2019), "basis": "meeting"} | fields
    return programme_setting_save(actor=factories.person(), key=key, value=value, **fields)


def test_every_threshold_has_a_default_with_its_basis():
    assert set(DEFAULTS) == set(ProgrammeKey)
    assert [item.key for item in thresholds()] == [key.value for key in DEFAULTS]
    assert all(item.basis and item.record is None for item in thresholds())
    assert (setting("mothers_per_line"), setting("mothers_per_source"), setting("status_number")) == (2, 5, 4)
    assert setting(ProgrammeKey.RECEIPT_DAYS, 21) == 21


def test_a_threshold_has_an_owner_and_a_history():
    keep("mothers_per_line", "3")
    keep("mothers_per_line", "4", owner="The next lead")
    assert setting("mothers_per_line", 9) == 4
    record = ProgrammeSetting.objects.get()
    assert (record.owner, record.set_on, record.basis) == ("The next lead", factories.day(2019), "meeting")
    assert AuditEntry.objects.get(verb="programmesetting.changed").changes["value"] == ["3", "4"]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("mothers_per_line", "2.5", "not a whole number"),
        ("mothers_per_line", "0", "above 0"),
        ("status_number", "many", "not a number"),
        ("status_number", "NaN", "above 0"),
        ("lone_work", "  ", "in words"),
        ("home_region", "Vermont", "no country has the code"),
        ("home_region", "US-XX", "not a subdivision of US"),
        ("unknown_native_parent", "wild", "Write “not known” or “native”"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused(key, value, words):
    with pytest.raises(ValidationError, match=words):
        keep(key, value)


def test_the_office_reads_the_thresholds_and_the_lead_sets_them(client):
    client.force_login(factories.person("manager"))
    text = client.get(reverse("setting_list")).content.decode()
    assert "not set: this is the default" in text and "/settings/status_number/" not in text
    client.force_login(factories.person("lead"))
    address = reverse("setting_edit", args=["status_number"])
    assert address in client.get(reverse("setting_list")).content.decode()
    data = {"value": "x", "owner": "The lead", "set_on": "2020-05-01", "basis": "meeting"}
    assert "value" in client.post(address, data).context["form"].errors
    assert client.post(address, data | {"value": "5.5"}).status_code == 302
    assert setting("status_number") == Decimal("5.5")
    assert client.get(reverse("setting_edit", args=["nothing"])).status_code == 404
