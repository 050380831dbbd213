from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from plantings.imports.kinds import KINDS
from plantings.imports.withdrawing import load_hindrances, load_take_back
from registry.models import Load, Person
from registry.selectors.loads.resting import stored_by
from registry.selectors.loads.staying import staying_records
from registry.selectors.people.acting import acting_person


class Command(BaseCommand):
    help = (
        "Withdraw a load as one: everything it stored is taken back, or nothing. First says what it would take back, and what rests on the "
        "load; while anything does, nothing is taken back and the exit code is 1."
    )

    def add_arguments(self, parser):
        parser.add_argument("number", type=int, metavar="NUMBER", help="the number of the load, as `load` and the list of loads say it")
        parser.add_argument("--reason", default="", help="why it is withdrawn; stored with everything that is taken back")
        parser.add_argument("--dry-run", action="store_true", help="say what would be taken back and take nothing back")
        parser.add_argument("--as", dest="person", help="sign-in name of the person who withdraws it; default: the first lead")

    def handle(self, *, number, reason, dry_run, person, **options):
        load = Load.objects.filter(pk=number).select_related("withdrawal").first()
        if load is None:
            raise CommandError(f"No load has the number {number}. Look its number up in the list of loads.")
        actor = self._actor(person, load)
        if load.withdrawn:
            raise CommandError(f"Load {number} is already withdrawn.")
        for line in _lines(load):
            self.stdout.write(line)
        if found := load_hindrances(load):
            for hindrance in found:
                self.stderr.write(hindrance.words)
            raise CommandError(f"Load {number} cannot be withdrawn while something rests on it. Nothing was taken back.")
        if dry_run:
            self.stdout.write(f"Nothing rests on load {number}. Nothing was taken back yet.")
            return
        if not reason.strip():
            raise CommandError("Say why the load is withdrawn: give --reason, in quotation marks. Nothing was taken back.")
        try:
            load_take_back(actor=actor, load=load, reason=reason)
        except ValidationError as error:  # somebody else saved meanwhile, or a record cannot have its earlier cells again
            raise CommandError(f"{' '.join(error.messages)} Nothing was taken back.") from error
        self.stdout.write(f"Load {number} is withdrawn.")

    @staticmethod
    def _actor(username, load):
        try:
            actor = acting_person(username)
        except Person.DoesNotExist as error:
            raise CommandError(str(error)) from error
        if not all(actor.may(KINDS[kind].action) and actor.may(KINDS[kind].edit_action) for kind in load.counts_by_kind):
            raise CommandError(f"{actor.username} ({actor.role_label}) may not withdraw load {load.pk}. Nothing was taken back.")
        return actor


def _lines(load):
    """What would be taken back of a load: how many records of each type, how many of these stay, and what it had changed."""
    staying = staying_records(load)
    yield f"Load {load.pk} of {load.filename}, to be taken back:"
    for model, keys in stored_by(load).items():
        stay = len(staying.get(model, ()))
        more = f" ({stay:,} on file afterwards, since what was entered about them is never deleted)" if stay else ""
        yield f"  {model._meta.verbose_name_plural}: {len(keys):,}{more}"
    if changed := sum(len(lines) for lines in load.before_by_kind.values()):
        yield f"  records that get their earlier values again: {changed:,}"
