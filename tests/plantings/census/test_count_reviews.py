"""Reviews of counts of plots: the rules are those of the records of trees."""

import datetime
from random import Random

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.choices import Arrival, ReviewState
from plantings.imports.counts import PlotCountSheet
from plantings.imports.loading import sheet_load
from plantings.models import CountReview, Observation, PlotCount, ReviewTally, SurvivalTally
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.results import changed_since, newest_of
from plantings.selectors.census.verify import check_reviews
from plantings.services.census.plot_counts import plot_count_correct, plot_count_record
from plantings.services.census.results import round_result_give_out
from plantings.services.census.reviews import records_review
from plantings.services.trees import counted_plot_add
from registry.imports.sheets.formats import export_bytes
from registry.selectors.audit.verify import verify_book
from registry.services.people.programme import programme_setting_save
from tests import factories

pytestmark = pytest.mark.django_db
ACCEPTED, ASKED_BACK, REJECTED = ReviewState


@pytest.fixture
def here():
    """(round, two counted plots of 40 seeds, a lead); the plots were counted 30 and 20 the year before."""
    lead, planting = factories.person(), factories.planting(code="PL-1")
    lot = factories.seed_lot()
    plots = [counted_plot_add(actor=lead, planting=planting, code=code, lot=lot, planted_count=40) for code in ("D1", "D2")]
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    for plot, alive in zip(plots, (30, 20), strict=True):
        count(lead, first, plot, alive, arrived_as=Arrival.ACCEPTED.value)
    return second, plots, lead


def count(actor, census_round, plot, alive, **given):
    day = census_round.opens_on
    return plot_count_record(actor=actor, census_round=census_round, plot=plot, alive=alive, observed_on=day, observer="Reed", **given)


def unread_count(value):
    day = datetime.date(2026, 1, 15)
    programme_setting_save(actor=factories.person(), key="unread_count", value=value, owner="The lead", set_on=day)


def alive(census_round):
    return sum(SurvivalTally.objects.filter(round=census_round).values_list("alive", flat=True))


def waiting(census_round):
    tally = ReviewTally.objects.get(round=census_round)
    return tally.unread, tally.asked_back


def proved():
    return recount_differences()[1] == [] and not check_reviews().faults


def test_counts_are_received_reviewed_and_counted_by_one_rule(here):
    census_round, plots, lead = here
    one, other = (count(lead, census_round, plot, 18) for plot in plots)
    assert waiting(census_round) == (2, 0) and alive(census_round) == 36
    records_review(actor=lead, counts=[one], state=ACCEPTED)
    records_review(actor=lead, counts=[other], state=ASKED_BACK, reason="count the far end too")
    assert waiting(census_round) == (0, 1) and alive(census_round) == 36
    unread_count("no")
    assert alive(census_round) == 18 and proved()
    records_review(actor=lead, counts=[other], state=REJECTED, reason="another plot")
    assert waiting(census_round) == (0, 0) and list(PlotCount.objects.current().filter(round=census_round)) == [one]
    assert CountReview.objects.count() == 3 and proved()
    corrected = plot_count_correct(actor=lead, count=one, alive=17, reason="miscounted")
    assert corrected.arrived_as == Arrival.ACCEPTED and alive(census_round) == 17 and proved()
    with pytest.raises(ValidationError, match="1 record was corrected in between"):
        records_review(actor=lead, counts=[one], state=ACCEPTED)
    with pytest.raises(ValidationError, match="Say why"):
        records_review(actor=lead, counts=[corrected], state=REJECTED)
    assert [fault for check in verify_book() for fault in check.faults] == []


def test_tallies_of_plots_equal_a_recount_whatever_was_reviewed(here):
    census_round, plots, lead = here
    rng = Random(4)
    for _ in range(20):
        counts = list(PlotCount.objects.unsuperseded())
        step = rng.choice(["count", "correct", "review", "review", "setting"])
        if step == "count":
            count(lead, census_round, rng.choice(plots), rng.randint(0, 40))
        elif step == "correct":
            plot_count_correct(actor=lead, count=rng.choice(counts), alive=rng.randint(0, 40), reason="drawn")
        elif step == "review":
            some = rng.sample(counts, min(len(counts), 2))
            records_review(actor=lead, counts=some, state=rng.choice(list(ReviewState)), reason="drawn")
        else:
            unread_count(rng.choice(["yes", "no"]))
        assert proved()


def test_the_queue_accepts_clean_counts_with_clean_records(here, client):
    census_round, plots, lead = here
    client.force_login(lead)
    [tree] = factories.trees(census_round.planting, count=1)
    factories.observe(census_round, {tree: "A"})
    clean, odd = count(lead, census_round, plots[0], 25), count(lead, census_round, plots[1], 38)
    url = reverse("round_review", args=[census_round.pk])
    page = client.get(url)
    text = page.content.decode()
    assert "3 records to review" in text and "1 record and 1 count of plots" in text
    assert "38 are alive, last time 20: a leap of more than 50 %." in text and "38 alive, 0 dead of 40" in text
    post = {"records": page.context["clean_keys"], "counts": page.context["clean_counts"], "decision": "accepted"}
    assert "2 records accepted." in client.post(url, post, follow=True).content.decode()
    assert Observation.objects.with_review().get().review_state == ACCEPTED
    assert CountReview.objects.get().count == clean and waiting(census_round) == (1, 0)
    answer = client.post(url, {"count": str(odd.pk), "decision": "asked_back", "reason": "40 were sown"}, follow=True).content.decode()
    assert "Counts of plots asked back" in answer and "40 were sown" in answer
    assert "asked back: 40 were sown" in client.get(reverse("round_detail", args=[census_round.pk])).content.decode()
    assert "40 were sown" in client.get(reverse("census_counts", args=[census_round.pk])).content.decode()


def test_a_row_of_the_sheet_is_received_unless_its_loader_says_accepted(here):
    census_round, plots, lead = here
    head = "Planting,Season,Plot,Alive (count),Observed on,Accepted (yes/no)\n"
    rows = [f"PL-1,{census_round.label},D1,25,{census_round.opens_on},yes\n", f"PL-1,{census_round.label},D2,15,{census_round.opens_on},\n"]
    sheet_load(actor=lead, kind="plot_count", content=(head + "".join(rows)).encode(), filename="counts.csv")
    assert waiting(census_round) == (1, 0)
    lines = export_bytes(PlotCountSheet, PlotCount.objects.filter(round=census_round), "csv").decode("utf-8-sig").splitlines()
    assert [line.split(",")[-1] for line in lines] == ["Accepted (yes/no)", "yes", ""]
    records_review(actor=lead, counts=PlotCount.objects.filter(plot=plots[1], round=census_round), state=REJECTED, reason="wrong plot")
    plan = sheet_load(actor=lead, kind="plot_count", content=(head + rows[1]).encode(), filename="counts.csv")
    assert plan.counts["unchanged"] == 1 and proved()


def test_a_count_after_the_result_was_given_out_is_marked_on_it(here):
    census_round, plots, lead = here
    said = {"title": "Result", "filename": "result.pdf", "content": b"%PDF", "lots": []}
    result = round_result_give_out(actor=lead, census_round=census_round, newest=newest_of(census_round), **said)
    assert changed_since(result) == 0
    late = count(lead, census_round, plots[0], 25)
    records_review(actor=lead, counts=[late], state=ACCEPTED)
    assert changed_since(result) == 2
