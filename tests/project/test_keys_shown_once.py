"""Forms that make a link or a token: a day that has passed is refused at its box, and what was typed stays."""

import pytest
from django.urls import reverse

from plantings.models import RoundLink
from registry.models import AccessToken, PrivateLink
from tests import factories

pytestmark = pytest.mark.django_db


def of_a_landowner():
    person = factories.person("landowner")
    return reverse("partner_link", args=[person.partner_id]), {"person": person.pk}


def of_a_round():
    return reverse("round_link", args=[factories.census_round(factories.planting()).pk]), {"for_whom": "the school"}


def of_a_program():
    return reverse("person_token", args=[factories.person("auditor").pk]), {"purpose": "the yearly table"}


@pytest.mark.parametrize(("made_of", "model"), [(of_a_landowner, PrivateLink), (of_a_round, RoundLink), (of_a_program, AccessToken)])
def test_a_key_that_would_have_ended_is_refused_at_its_box(client, made_of, model):
    address, typed = made_of()
    client.force_login(factories.person("lead"))
    answer = client.post(address, typed | {"ends_on": "2020-05-01"})
    assert answer.status_code == 200 and list(answer.context["form"].errors) == ["ends_on"]
    assert all(answer.context["form"][name].value() == str(value) for name, value in typed.items())
    assert not model.objects.exists()
