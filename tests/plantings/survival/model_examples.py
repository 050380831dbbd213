"""Five lots whose order is known, on three sites, and the page that compares them."""

from django.urls import reverse

from tests import factories
from tests.plantings.survival.survival_examples import counted, planting_on

LEVEL = {"level": "lot"}


def programme(partner=None):
    """(a planting, its lots): five lots and a native check on three sites; the lot of the largest code lives best."""
    actor, planting = factories.person(), None
    native = factories.stock_lot(actor=actor, plants=900, taxon=factories.taxon(role="native"))
    lots = sorted((factories.stock_lot(actor=actor, plants=900) for _ in range(5)), key=lambda lot: lot.code)
    for ease in (0, 3, 6):
        planting = planting_on(factories.site(partner=partner) if partner else factories.site())
        for lot, alive in zip(lots, (4, 8, 12, 15, 18), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 20, 4, role="check")
    return planting, lots


def page(client, name="survival_lineages", **query):
    return client.get(reverse(name), LEVEL | query)


def labels(response):
    return [one.label for one in response.context["found"].ranked]
