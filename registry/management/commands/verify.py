import sys
from pathlib import Path

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from registry.calc.shared.screen import amount_words
from registry.models import Person
from registry.selectors.audit.chain_head import chain_head
from registry.selectors.audit.one_state import one_state
from registry.selectors.audit.verify import verify_book
from registry.selectors.people.acting import acting_person
from registry.services.audit.repair import files_repair, unfinished_remove

NOT_SEEN = (
    "Not seen: changes made in the database to other columns that may be changed on screen (names, notes, descriptions, addresses, "
    "passwords), and records of types not named above (partners, wordings of rules, duties, calendar addresses, crews, settings), "
    "whether changed or put in; what happened before an upgrade took the records over; a changed program; and a complete chain written "
    "again, unless an earlier head is given with --head.\n"
    "Not counted as wrong: a lot, pedigree tree, shipment, site, planting or round put into the database past the program under a usual "
    "number. It looks like one of an older version: the line “Accounts, links, pedigree …” counts it as not in the audit trail, and no "
    "longer does once somebody saves it on screen. Look at the records named there."
)


class Command(BaseCommand):
    help = (
        "Prove that the records are as they were written: the triggers of the database, the audit chain, every append-only row against "
        "its hash in the chain, stored files, answers of the gate, draws, versions and states of papers, verifications of rules, roles of "
        "accounts, links and tokens, parents in the pedigree, members of pollen pools, parts of bulk lots, lines of shipments and "
        "receipts, places, dates, ages and lots of plantings, their trees and counted plots, marks of identity. "
        "Prints the head of the chain: note it somewhere else. It also says what it cannot see, such as a changed note, or a complete "
        "chain that was written again: for that give --head. "
        "Exit code 1 when anything is wrong."
    )

    def add_arguments(self, parser):
        parser.add_argument("--head", metavar="SHA256", default="", help="a head noted earlier: it must still be in the chain")
        parser.add_argument(
            "--repair", nargs="*", type=Path, metavar="FILE",
            help="first put these files back wherever a record names one with the same content and that one is damaged or gone, "
            "and delete what uploads that were stopped have left",
        )  # fmt: skip
        parser.add_argument("--as", dest="person", help="sign-in name of the person who repairs; default: the first lead")

    def handle(self, *, head, repair, person, **options):
        for path in repair or []:
            self._repair(path, person)
        if repair is not None and (removed := unfinished_remove()):
            self.stdout.write(f"Deleted {amount_words(removed, 'files')} of uploads that were stopped.")
        wrong = 0
        with one_state():  # a save between the reading of the trail and of its rows would look like a row put in
            for check in verify_book(head):
                wrong += len(check.faults)
                self.stdout.write(f"{'WRONG' if check.faults else 'ok':5}  {check.title}: {check.looked_at}")
                for fault in check.faults:
                    self.stdout.write(f"       {fault}")
            entries, sha256 = chain_head()
        self.stdout.write(NOT_SEEN)
        self.stdout.write(f"Head of the audit chain, {amount_words(entries, 'entries')}: {sha256 or 'none yet'}")
        if wrong:
            self.stderr.write(f"{wrong:,} wrong. Change nothing; compare with the backup of the day before, and tell the programme lead.")
            sys.exit(1)

    def _repair(self, path, person):
        try:
            repaired = files_repair(actor=acting_person(person), content=path.read_bytes(), filename=path.name)
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}.") from error
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        except Person.DoesNotExist as error:
            raise CommandError(str(error)) from error
        for named in repaired:
            self.stdout.write(f"Put back: {named}.")
        if not repaired:
            self.stdout.write(f"{path.name} is on file and undamaged.")
