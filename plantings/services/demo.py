"""The accounts of a demo book: fresh pass phrases, shown once and kept nowhere."""

import secrets

from django.db import transaction

from plantings.selectors.demo import DEMO_LOADED, demo_accounts
from registry.models import Person
from registry.services.audit import audit_record
from registry.services.people import person_save

__all__ = ["demo_lead_make", "demo_phrases_set"]

_WORDS = """
acorn amber anchor apple apron arrow aspen autumn badge baker barley basket beacon beaver bench berry birch biscuit
blanket bottle boulder branch bridge bronze brook bucket butter button cabin candle canoe canvas carrot castle cedar
cellar chalk cherry chimney cider cinder circle clover cobble copper cotton cradle crane cricket curtain daisy dapple
dragon drawer drift dusty eagle easel ember engine fable falcon feather fennel fiddle finch flannel flint flour folder
forest fossil fountain garden garlic ginger glacier glove granite gravel hammer hamlet harbor harvest hazel heather
heron hickory honey hollow iris island ivory jacket jasper juniper kettle kitten ladder lantern larch laurel lemon
letter lichen lilac linen lobster locket lumber magnet maple marble market meadow melon mellow mirror mitten moccasin
mortar moss mulberry nectar needle nettle nickel noodle nutmeg oatmeal orchard otter oyster paddle paper parsley pebble
pencil pepper pigeon pillow pine planet plaster pocket poplar potter prairie puddle pumpkin quarry quartz quilt rabbit
raft raisin raven ribbon ridge river robin rocket rosemary rudder saddle saffron salmon sandal satchel scarlet shovel
silver slate sleigh sorrel sparrow spindle spruce stable sunset syrup tailor tangle teapot thicket thimble thistle
thunder timber tinder torch trellis trout tulip tundra turnip valley vanilla velvet violet wagon walnut water whistle
willow window winter wisteria wooden woolen yarrow yellow
""".split()


@transaction.atomic
def demo_lead_make(**fields):
    """Make the account that loads the demo, and write down that this book is a demo."""
    lead = Person(**fields)
    person_save(actor=lead, person=lead)
    audit_record(actor=lead, verb=DEMO_LOADED, obj=lead)
    return lead


@transaction.atomic
def demo_phrases_set():
    """Give one account of each role a new pass phrase. Returns [(person, pass phrase)]; none in a book that is no demo."""
    accounts = demo_accounts()
    phrases = [(person, " ".join(secrets.choice(_WORDS) for _ in range(4))) for person in accounts]
    for person, phrase in phrases:
        person_save(actor=accounts[0], person=person, password=phrase)
        audit_record(actor=accounts[0], verb="person.password_set", obj=person)
    return phrases
