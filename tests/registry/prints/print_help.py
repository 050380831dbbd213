"""What the tests of prints make and read."""

from django.urls import reverse
from django.utils import timezone

from registry.models import Harvest, SpeciesHandbook
from registry.services.lots.ledger import ledger_enter
from tests import factories
from tests.prints.reading import page_texts


def orchard_lot(actor, **fields):
    """A harvest of an orchard mother: 400 seeds that weigh 5 kg, picked on 2 October 2026."""
    mother = factories.pedigree_tree(code=f"MB-{factories.number()}", backcrosses=3, intercrosses=2, orchard="Mill Brook", block="2")
    fields = {"year": 2026, "cross_type": "open", "use_by": factories.day(2027, 6, 30), "backcrosses": 3, "intercrosses": 3} | fields
    lot = factories.seed_lot(actor=actor, mother=mother, **fields)
    entry = ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=400, on=factories.day(2026, 10, 2), mass_g=5000)
    factories.put_in(Harvest(entry=entry, picker="Björn Ødegård", fruits=420, entered_at=timezone.now(), entered_by=actor))
    SpeciesHandbook.objects.create(binomial=lot.taxon.name, source="made for a test", storage_class="recalcitrant")
    lot.refresh_from_db()
    return lot


def made(client, route, record, **data):
    """The file that the button of a print makes, with its answer."""
    answer = client.post(reverse(route, args=[record.pk]), {"page": "letter"} | data)
    assert answer.headers["Content-Type"] == "application/pdf", answer.content.decode()[:3000]
    return answer


def words(answer):
    return " ".join(" ".join(page_texts(answer.content)).split())


LABELS = {"sheet": "letter-3x10", "start": "1", "containers": "2"}
