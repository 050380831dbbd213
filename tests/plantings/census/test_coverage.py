"""Coverage of the census: who goes where, what is done and why not; what the weekly mail and Today say of it."""

import datetime
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.translation import override

from plantings.models import Observation
from plantings.selectors.census.coverage import coverage_lines, rounds_to_cover
from plantings.selectors.census.results import result_document
from plantings.selectors.overview.census_lines import CLOSING_DAYS
from plantings.selectors.overview.today import today_lines
from plantings.services.census.batch import census_batch_receive
from plantings.services.census.observations import rest_not_visited
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.census.reviews import records_review
from plantings.services.census.second import second_draw_make
from plantings.services.trees import counted_plot_add
from registry.selectors.audit.verify import verify_book
from registry.services.duties.reminders import reminder_parts
from tests import factories
from tests.prints.reading import page_texts

pytestmark = pytest.mark.django_db
ON = datetime.date(2026, 9, 20)
NOW = datetime.datetime(2026, 9, 20, 12, tzinfo=datetime.UTC)


def planted(states, crew=(), opens=ON - datetime.timedelta(days=10), closes=ON + datetime.timedelta(days=CLOSING_DAYS)):
    """A round of a planting of two trees, recorded as these statuses."""
    planting = factories.planting(crew=crew)
    trees = factories.trees(planting, count=2)
    item = factories.census_round(planting, 8, opens_on=opens, closes_on=closes)
    for tree, status in zip(trees, states, strict=False):
        factories.observe(item, {tree: status}, note="road washed out" if status == "NV" else "")
    return item


@pytest.fixture
def crew():
    return factories.person("volunteer", first_name="Una", last_name="Counter")


def lines(user):
    return {line.round: line for line in coverage_lines(rounds_to_cover(user, ON), ON)}


def test_each_round_is_done_partly_done_or_not_visited(crew):
    done, partly, not_visited, nobody = (planted(states, [crew]) for states in (("A", "D"), ("A",), ("NV", "NV"), ()))
    to_come = planted((), opens=ON + datetime.timedelta(days=20), closes=ON + datetime.timedelta(days=50))
    long_ago = planted((), opens=ON - datetime.timedelta(days=900), closes=ON - datetime.timedelta(days=800))
    found = lines(factories.person())
    states = {item: line.state for item, line in found.items()}
    assert states == {done: "done", partly: "partly", not_visited: "not visited", nobody: "not visited", to_come: "to come"}
    assert long_ago not in found
    line = found[not_visited]
    assert (line.crew, line.unvisited, line.visited, line.why) == (("Una Counter",), 2, 0, ("road washed out",))
    assert set(lines(crew)) == {done, partly, not_visited, nobody}


def test_the_page_names_the_crew_to_the_programme_only(client, crew):
    today = datetime.date.today()
    item = planted(("NV",), [crew], today - datetime.timedelta(days=5), today + datetime.timedelta(days=5))
    read = {"kind": "cautions", "uuid": str(uuid4()), "observer": "Mia Reader", "at": 0, "wording": "ab" * 32}
    census_batch_receive(actor=crew, census_round=item, sent=[read], clock_ms=0)
    landowner = factories.person("landowner", partner=item.planting.site.partner)
    for user, named in ((factories.person("coordinator"), True), (landowner, False)):
        client.force_login(user)
        text = client.get(reverse("round_coverage")).content.decode()
        assert item.planting.code in text and "road washed out" in text
        assert ("Una Counter" in text) == ("Mia Reader" in text) == named
        sheet = client.get(reverse("round_coverage"), {"download": "csv"}).content.decode()
        assert item.planting.code in sheet and ("Una Counter" in sheet) == named


def test_the_weekly_mail_reminds_before_the_window_closes(crew):
    item = planted(("A",), [crew])
    planted(("A", "A"), [crew])
    planted(("A",), [crew], closes=ON + datetime.timedelta(days=CLOSING_DAYS + 1))
    planted((), [])
    counted_plot_add(actor=factories.person(), planting=item.planting, code="A", lot=factories.seed_lot(), planted_count=20)
    [part] = [part for part in reminder_parts(crew, ON, NOW) if part.title == "Census windows that close soon"]
    site, code = item.planting.site.name, item.planting.code
    assert [(line.text, line.step) for line in part.lines] == [
        (
            f"Census 2026 autumn at {site} ({code}): 1 tree without a record, 1 plot not counted",
            "Visit what is left and enter it before the last day.",
        )
    ]
    office = {part.title: part.lines for part in reminder_parts(factories.person("coordinator"), ON, NOW)}
    assert len(office["Census windows that close soon"]) == 2
    assert "Census windows that close soon" not in {part.title for part in reminder_parts(factories.person("manager"), ON, NOW)}


def test_counts_on_today_and_in_the_mail_are_written_as_in_french(crew):
    planting = factories.planting(crew=[crew])
    trees = factories.trees(planting, count=1205)
    opens, closes = ON - datetime.timedelta(days=10), ON + datetime.timedelta(days=CLOSING_DAYS)
    item = factories.census_round(planting, 8, opens_on=opens, closes_on=closes)
    factories.observe(item, {trees[0]: "A"})
    counted_plot_add(actor=factories.person(), planting=planting, code="A", lot=factories.seed_lot(), planted_count=20)
    with override("fr"):  # 1205 trees, one of them recorded: 1204 left; French sets thousands apart by a no-break space
        [part] = [part for part in reminder_parts(crew, ON, NOW) if part.title == "Recensements qui se terminent bientôt"]
        texts = [line.text for line in part.lines] + [line.text for line in today_lines(crew, ON)]
    assert any("1\N{NO-BREAK SPACE}204 arbres sans observation" in text for text in texts)
    assert any("sur 1\N{NO-BREAK SPACE}205" in text for text in texts)
    assert not any("1,20" in text for text in texts)


def test_today_shows_the_second_person_what_is_left(crew):
    item = planted(("A", "A"), [crew])
    second_draw_make(actor=factories.person(), census_round=item, count=2, measurer=crew)
    texts = [line.text for line in today_lines(crew, ON)]
    assert f"2 trees to measure again in {item.planting.code}" in texts


def test_a_record_that_arrives_late_is_marked_on_the_printed_result(client, crew):
    item = planted(("A",), [crew])
    first, late = item.planting.trees.order_by("pk")
    client.force_login(factories.person("coordinator"))
    answer = client.post(reverse("round_result", args=[item.pk]), {"page": "letter"})
    [text] = page_texts(answer.content)  # one page
    assert "Thank you" in text and "1 record is not reviewed yet." in text
    page = client.get(reverse("round_detail", args=[item.pk])).content.decode()
    assert "nothing changed since" in page
    factories.observe(item, {late: "D"})
    records_review(actor=factories.person(), observations=first.observations.all(), state="accepted")
    page = client.get(reverse("round_detail", args=[item.pk])).content.decode()
    assert "2 changes since: print it again" in page
    assert [check.title for check in verify_book() if check.faults] == []


def test_the_printed_result_thanks_and_counts(crew):
    item = planted(("A", "D"), [crew])
    factories.observe(item, {item.planting.trees.order_by("pk")[0]: "A"}, observer="Una Counter", height_cm=142)
    parts = {part.title: part for part in result_document(item, scan=("X",), made_on=ON, made="").parts if hasattr(part, "title")}
    assert "Una Counter: 1 tree" in parts["Thank you"].lines
    assert parts["What became of the trees"].rows == (("alive", "1"), ("dead", "1"))
    assert parts["What was measured"].rows == (("Height (cm)", "1", "142", "142", "142"),)
    assert "What was seen" not in parts


def test_the_printed_result_counts_the_living_trees_in_each_class(client, crew):
    factories.own_measurement(code="leaf_spot")
    planting = factories.planting(crew=[crew])
    trees = factories.trees(planting, count=4)
    asks = factories.protocol(asks=["canker", "browse", "leaf_spot_v1"])
    item = factories.census_round(planting, 8, opens_on=ON, closes_on=ON, protocol=asks)
    for tree, canker, browse, spot in zip(trees[:3], (0, 2, 2), ("none", "", "heavy"), (1, 0, 1), strict=True):
        factories.observe(item, {tree: "A"}, canker_class=canker, browse_class=browse, own_values={"leaf_spot_v1": spot})
    factories.observe(item, {trees[3]: "D"})
    parts = {part.title: part for part in result_document(item, scan=("X",), made_on=ON, made="").parts if hasattr(part, "title")}
    assert parts["What was seen"].rows == (
        ("Canker", "3", "0 none: 1; 2 sunken, under half: 2"), ("Browse", "2", "none: 1; heavy: 1"),
        ("Leaf spot", "3", "0 none: 1; 1 some leaves: 2"),
    )  # fmt: skip


def test_who_counted_plots_is_thanked_and_who_visited_nothing_is_not(crew):
    item = planted(("A", "NV"))
    trees = item.planting.trees.order_by("pk")
    factories.observe(item, {trees[0]: "A"}, observer="Una Counter")
    factories.observe(item, {trees[1]: "NV"}, observer="Roy Rained")
    plot = counted_plot_add(actor=factories.person(), planting=item.planting, code="A", lot=factories.seed_lot(), planted_count=20)
    said = {"alive": 4, "dead": 1, "observed_on": item.opens_on, "observer": "Una Counter"}
    plot_count_record(actor=crew, census_round=item, plot=plot, **said)
    [thanks] = [part for part in result_document(item, scan=("X",), made_on=ON, made="").parts if getattr(part, "title", "") == "Thank you"]
    assert "Una Counter: 1 tree, 1 plot" in thanks.lines and not any("Roy Rained" in line for line in thanks.lines)
    nobody = planted(())
    parts = result_document(nobody, scan=("X",), made_on=ON, made="").parts
    assert not any(getattr(part, "title", "") == "Thank you" for part in parts)


@pytest.mark.parametrize(("chosen", "of_the_crew"), [("fr", ""), ("", "fr")])
def test_the_crew_reads_its_result_in_french(client, crew, chosen, of_the_crew):
    """The language chosen on the page, else that of the crew; the page of the office stays in English."""
    crew.language = of_the_crew
    crew.save()
    item = planted(("A",), [crew])
    client.force_login(factories.person("coordinator"))
    address = reverse("round_result", args=[item.pk])
    [text] = page_texts(client.post(address, {"page": "letter", "language": chosen}).content)
    for words in ("Merci", "Ces personnes ont examiné les arbres", " : 1 arbre", "1 observation n’est pas encore examinée", "page 1 de 1"):
        assert words in " ".join(text.split()).replace("\u00a0", " ")
    [text] = page_texts(client.post(address, {"page": "letter", "language": "en"}).content)
    assert "Thank you" in text and "Thank you" in client.get(address).content.decode()


def test_the_printed_result_has_sown_seed_apart_and_says_what_is_open(crew):
    item, lead = planted(("A",), [crew]), factories.person("lead")
    seed = factories.seed_lot(seeds=60)
    plot = counted_plot_add(actor=lead, planting=item.planting, code="D1", lot=seed, planted_count=40)
    plot_count_record(actor=lead, census_round=item, plot=plot, alive=12, observed_on=item.opens_on)
    parts = {part.title: part for part in result_document(item, scan=("X",), made_on=ON, made="").parts if hasattr(part, "title")}
    assert parts["What became of the trees"].rows == (("alive", "1"), ("not visited", "1"))
    # 12 seedlings of 40 seeds; what was not seen at the count is not found, as in the figures
    assert parts["What became of the seed sown in place"].rows == (("alive", "12"), ("not found", "28"))
    assert parts["Not final"].lines[0] == "The round is not complete: 1 of 2 trees under test and of checks are assessed."


def test_one_step_says_why_nobody_went_to_the_rest(client, crew):
    """Of two trees one has a record; the other is not visited, for the reason given, and neither dead nor missing."""
    item = planted(("A",), [crew], datetime.date.today() - datetime.timedelta(days=5), datetime.date.today())
    address, today = reverse("round_not_visited", args=[item.pk]), datetime.date.today().isoformat()
    client.force_login(crew)
    assert "1 tree without a record" in client.get(address).content.decode()
    assert (
        client.post(address, {"why": " ", "observed_on": today}).status_code == 200 and Observation.objects.filter(round=item).count() == 1
    )
    with pytest.raises(ValidationError, match="Say why these trees were not visited."):
        rest_not_visited(actor=crew, census_round=item, why=" ")
    before = client.post(address, {"why": "road washed out", "observed_on": "2001-05-01"}).content.decode()
    assert "before planting" in before and "road washed out" in before
    answer = client.post(address, {"why": "road washed out", "observed_on": today}, follow=True)
    assert "1 tree recorded as not visited." in answer.content.decode()
    records = Observation.objects.filter(round=item).order_by("tree__walk_number")
    assert [(record.status, record.note) for record in records] == [("A", ""), ("NV", "road washed out")]
    [line] = coverage_lines(rounds_to_cover(crew, datetime.date.today()), datetime.date.today())
    assert (line.state, line.visited, line.unvisited, line.why) == ("partly", 1, 1, ("road washed out",))
    assert "Every tree of this round has a record." in client.get(address).content.decode()
    assert "Every tree of this round has a record." in client.post(address, {"why": "again", "observed_on": today}).content.decode()
    assert Observation.objects.filter(round=item).count() == 2
