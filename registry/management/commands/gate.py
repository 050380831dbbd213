from django.core.management.base import BaseCommand, CommandError

from registry.compliance.gate.answers import STOP
from registry.compliance.gate.explain import explain
from registry.management.read_day import read_day
from registry.models import Shipment
from registry.selectors.gate.determinations import shipment_answer


class Command(BaseCommand):
    help = "Say what the rules and papers on file say about a shipment on a day. Stores nothing. Exit code 3 when it is stopped."

    def add_arguments(self, parser):
        parser.add_argument("shipment", metavar="SHIPMENT", help="its code")
        parser.add_argument("--on", metavar="DATE", help="the day, as 2026-10-12; today when left out")

    def handle(self, *, shipment, on, **options):
        record = Shipment.objects.select_related("receiver").filter(code__iexact=shipment).first()
        if record is None:
            raise CommandError(f"There is no shipment “{shipment}”. Look at the list of shipments for its code.")
        answer = shipment_answer(record, read_day(on))
        self.stdout.write(f"Shipment {record.code} to {record.receiver.name}, {record.get_state_display()}")
        for line in explain(answer):
            self.stdout.write(line)
        if answer.verdict == STOP:
            raise SystemExit(3)
