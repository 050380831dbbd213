import sys

from django.core.management.base import BaseCommand

from registry.calc.shared.screen import amount_words
from registry.selectors.audit.verify import chain_head, verify_book

NOT_SEEN = (
    "Not seen: changes made in the database to what may also be changed on screen (names, notes, trees, plantings, the description of "
    "a lot); a complete chain written again, unless an earlier head is given with --head."
)


class Command(BaseCommand):
    help = (
        "Prove that the records are as they were written: the triggers of the database, the audit chain, every append-only row against "
        "its hash in the chain, stored files, answers of the gate, draws, versions and states of papers, marks of identity. "
        "Prints the head of the chain: note it somewhere else. The command does not see a change to what may be changed on screen "
        "(a name, a note, a lot's description), nor a complete chain that was written again: for that give --head. "
        "Exit code 1 when anything is wrong."
    )

    def add_arguments(self, parser):
        parser.add_argument("--head", metavar="SHA256", default="", help="a head noted earlier: it must still be in the chain")

    def handle(self, *, head, **options):
        wrong = 0
        for check in verify_book(head):
            wrong += len(check.faults)
            self.stdout.write(f"{'WRONG' if check.faults else 'ok':5}  {check.title}: {check.looked_at}")
            for fault in check.faults:
                self.stdout.write(f"       {fault}")
        self.stdout.write(NOT_SEEN)
        entries, sha256 = chain_head()
        self.stdout.write(f"Head of the audit chain, {amount_words(entries, 'entries')}: {sha256 or 'none yet'}")
        if wrong:
            self.stderr.write(f"{wrong:,} wrong. Change nothing; compare with the backup of the day before, and tell the programme lead.")
            sys.exit(1)
