from django.core.management.base import BaseCommand, CommandError

from plantings.management.printing import FORMATS, print_table
from plantings.selectors.identity.trace import record_trace, trace_rows
from plantings.selectors.overview.code_search import code_find
from registry.access import roles
from registry.models import Person


class Command(BaseCommand):
    help = "Print what a code came from and what it led to: up to the founders, down to every planting, place and paper."

    def add_arguments(self, parser):
        parser.add_argument("code", metavar="CODE", help="tree tag, lot, shipment, mother tree, pool, paper, partner, site or planting")
        parser.add_argument("--format", choices=FORMATS, default="table")

    def handle(self, *, code, format, **options):
        # the command reads as the lead does; it needs no account, only the role
        reader = Person(role=roles.LEAD)
        found = code_find(reader, code)
        hits = [hit for hit in found if hit.record is not None]
        if not hits:
            others = "; ".join(f"{hit.kind} {hit.code}: {hit.what}" for hit in found[:10])
            raise CommandError(f"There is no trace of {others}." if others else f"No record carries '{code}'.")
        if len(hits) > 1:
            raise CommandError(
                f"'{code}' is not one record: " + "; ".join(f"{hit.code} ({hit.kind})" for hit in hits[:10]) + ". Write the complete code."
            )
        print_table(self.stdout, ["side", "kind", "code", "what"], trace_rows(record_trace(reader, hits[0].record, rows_max=None)), format)
