"""A landowner with a planting, a box on its way and a private link, for the tests of the page behind it."""

import re

from django.urls import reverse

from registry.services.land.links import link_make
from tests import factories


class Land:
    """A landowner with a planting, an agreement, a box on its way and a link; and a neighbour with the same."""

    def __init__(self, name, plants=40):
        self.lead = factories.person("lead")
        partner = factories.partner(name=f"{name} Farm")
        self.person = factories.person("landowner", first_name=name, last_name="Owner", partner=partner)
        self.crew = factories.person("volunteer", first_name=f"{name}s", last_name="Walker", phone="555-0199")
        self.lot = factories.stock_lot(actor=self.lead, plants=plants)
        self.site = factories.site(partner=partner, name=f"{name} Hollow", cautions=f"Old well at {name} corner.")
        self.planting = factories.planting(site=self.site, crew=[self.crew])
        self.trees = factories.trees(self.planting, self.lot, 4, actor=self.lead)
        self.round = factories.census_round(self.planting)
        factories.observe(self.round, dict(zip(self.trees, ("A", "A", "D", "NF"), strict=True)), actor=self.lead)
        self.box = factories.shipment(
            actor=self.lead, receiver=partner, lots=[(self.lot, "bareroot", 10)], dispatched_on=factories.day(2019, 4, 3)
        )
        self.paper = factories.authorization(
            type="landowner", partner=partner, state="in_force", title=f"Agreement with {name}", ends_on=factories.day(2031),
            conditions="No nuts are sold. Sheep stay outside the fence.",
        )  # fmt: skip
        self.link, self.token = link_make(actor=self.lead, person=self.person)

    def url(self, name="land_page", *args):
        return reverse(name, args=[self.token, *args])


def text(response):
    """A page without the minute it was drawn in, which may pass between two pages that are compared."""
    return re.sub(r"printed [^<]+", "", response.content.decode())


def receipt(land, sound=10, **values):
    [line] = land.box.lines.all()
    counts = {f"sound_{line.pk}": sound, f"sprouted_{line.pk}": 0, f"spoiled_{line.pk}": 0}
    head = {"received_on": "2019-04-05", "received_by": "Hazel Owner", "box_condition": "good", "temperature_c": "4", "note": ""}
    return counts | head | values
