"""What the tests of the pages of seed send and read."""

from django.urls import reverse

from registry.models import Lot
from tests import factories

DAY = factories.day(2019)


def fresh(lot):
    return Lot.objects.get(pk=lot.pk)


def send(client, route, record, data, **query):
    url = reverse(route, args=[record.pk] if record else [])
    if query:
        url += "?" + "&".join(f"{name}={value}" for name, value in query.items())
    return client.post(url, {name: value for name, value in data.items() if value is not None}, follow=True)


def errors(page):
    return page.context["form"].errors


def part(page, key):
    return next(section for section in page.context["parts"] if section.get("id") == key)


def messages(page):
    return " ".join(str(message) for message in page.context["messages"])


def page_of(client, lot):
    return client.get(reverse("lot_detail", args=[lot.pk]))
