"""The screens of the cautions: list, versions, taking out of use, reading them before going."""

import pytest
from django.urls import reverse

from registry.models import CautionSeen, CautionText
from registry.views.safety.cautions import months_words
from registry.views.safety.task_cautions import task_cautions
from tests import factories
from tests.registry.safety.test_cautions import caution

pytestmark = pytest.mark.django_db

VALUES = {
    "code": "ICE", "hazard": "Ice on the track", "text": "Walk the last mile.", "decider": "the driver", "task": "driving",
    "months": ["1", "2", "12"], "site_codes": "ST-01, ST-02", "in_use_from": "2026-01-01", "source": "common practice, no source",
}  # fmt: skip


def test_a_caution_is_written_changed_and_withdrawn_on_screen(client):
    client.force_login(factories.person("coordinator"))
    page = client.post(reverse("cautiontext_add"), VALUES)
    first = CautionText.objects.get()
    assert page.url == reverse("cautiontext_detail", args=[first.pk])
    assert (first.version, first.months, first.site_codes) == (1, [1, 2, 12], ["ST-01", "ST-02"])
    page = client.post(reverse("cautiontext_add"), VALUES)
    assert page.status_code == 200 and "Walk the last mile." in page.content.decode() and CautionText.objects.count() == 1
    change = {name: value for name, value in VALUES.items() if name != "code"} | {"text": "Do not go.", "reason": "a car slid"}
    client.post(reverse("cautiontext_edit", args=[first.pk]), change)
    second = CautionText.objects.get(version=2)
    shown = client.get(reverse("cautiontext_detail", args=[first.pk])).content.decode()
    assert "There is a newer version: 2" in shown and reverse("cautiontext_edit", args=[first.pk]) not in shown
    client.post(reverse("cautiontext_withdraw", args=[second.pk]), {"on": "2026-03-01", "reason": "road is built"})
    shown = client.get(reverse("cautiontext_list")).content.decode()
    assert "withdrawn from 1 Mar 2026" in shown and shown.count("ICE") == 1


def test_everybody_reads_cautions_but_only_the_office_edits_them(client):
    record = caution()
    for role, may in (("volunteer", False), ("landowner", False), ("manager", False), ("lead", True)):
        client.force_login(factories.person(role))
        shown = client.get(reverse("cautiontext_detail", args=[record.pk])).content.decode()
        assert record.text in shown and (reverse("cautiontext_edit", args=[record.pk]) in shown) == may


def test_a_volunteer_confirms_cautions_until_one_changes(client):
    volunteer = factories.person("volunteer")
    client.force_login(volunteer)
    caution("SAW", task="saw")
    address = reverse("caution_read") + "?task=saw"
    shown = client.get(address).content.decode()
    assert "What to do about SAW." in shown and "only for people of 18 years" in shown and "Work alone: nobody works alone" in shown
    client.post(reverse("caution_read"), {"task": "saw", "version": ["SAW 1"], "site": ""})
    assert CautionSeen.objects.get().person == volunteer
    assert "I have read these" not in client.get(address).content.decode()
    caution("SAW", task="saw", text="Never alone.")
    assert "I have read these" in client.get(address).content.decode()


def test_a_task_without_a_caution_is_not_called_safe(client):
    client.force_login(factories.person("volunteer"))
    assert "That does not make it safe" in client.get(reverse("caution_read") + "?task=harvest").content.decode()


@pytest.mark.parametrize(
    ("task", "words", "decider"),
    [("inoculation", "hard to see", "pathogen permit"), ("pesticide", "The label is law", "licensed applicator")],
)
def test_a_dangerous_task_shows_usual_cautions_before_our_own(task, words, decider):
    [usual] = task_cautions(task)
    assert any(words in line for line in usual["lines"]) and decider in usual["decider"]
    assert "This work is only for people of 18 years or more." in usual["lines"]
    caution("OWN", task=task, text="Have the paper on the site.", decider="its holder")
    first, own = task_cautions(task)
    assert first == usual and (own["text"], own["decider"]) == ("Have the paper on the site.", "its holder")


def test_months_in_words():
    assert months_words([]) == "all year"
    assert months_words([5, 6, 7, 10]) == "May to July, October"
    assert months_words([12]) == "December"
    assert months_words([1, 2, 11, 12]) == "November to February"
    assert months_words(list(range(1, 13))) == "January to December"
