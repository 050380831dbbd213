import glob
import json
import pathlib
import sys
from contextlib import nullcontext

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from plantings.imports.combined.loading import combined_load
from plantings.imports.combined.parts import COMBINED, rows_by_kind
from plantings.imports.combined.second_sheets import SECOND_FILES, second_files
from plantings.imports.kinds import KINDS
from plantings.imports.loading import sheet_load, upload_content
from registry.calc.shared.screen import amount_words
from registry.calc.sheets.length import rows_about
from registry.imports.loads.rest import FROM_NAMES, rest_bytes, rest_load, rest_read_by, rest_spec
from registry.imports.sheets.plan import ReasonMissing, SheetRefused, grouped
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import MAX_BYTES
from registry.management.progress_lines import ProgressLines
from registry.models import Person
from registry.selectors.loads.loads import open_load
from registry.selectors.people.acting import acting_person
from registry.services.audit.apart import prepared_apart, tried_apart
from registry.services.audit.busy import Busy, loading
from registry.services.audit.write import writing
from registry.services.shared.progress import listening


def named_files(paths):
    """The files that the command line names, those of a pattern in the order of their names. Raises CommandError."""
    files = []
    for path in paths:
        if not any(sign in str(path) for sign in "*?[") or _is_there(path):
            files.append(path)  # one that is not there is named where it is read
            continue
        found = [pathlib.Path(name) for name in sorted(glob.glob(str(path)))]
        if not found:
            raise CommandError(f"No file has a name like {path}.")
        files += found
    return list(dict.fromkeys(files))


def _is_there(path):
    try:
        return path.exists()
    except OSError:  # a name that is too long for any file
        return False


class Command(BaseCommand):
    help = (
        "Load a sheet (CSV or XLSX) of one kind, all or nothing, or without its wrong rows (--set-aside). "
        "Row errors go to standard error, and the exit code is 1 where nothing was stored."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "kind", choices=[*KINDS, COMBINED.kind], help="kind of sheet; combined: several by a mapping with parts", metavar="KIND"
        )
        parser.add_argument(
            "file",
            type=pathlib.Path,
            nargs="+",
            metavar="FILE",
            help="one file, several, or a pattern in quotation marks such as 'plots/*_2022.csv'; of several all are stored, or none",
        )
        parser.add_argument("--dry-run", action="store_true", help="say what would happen and store nothing")
        parser.add_argument("--columns", type=pathlib.Path, metavar="MAPPING", help="a mapping file (JSON) from their columns to ours")
        parser.add_argument(
            "--set",
            dest="given",
            action="append",
            default=[],
            metavar="NAME=VALUE",
            help='a value that the mapping takes as {"given": NAME}',
        )
        parser.add_argument(
            "--set-aside",
            type=pathlib.Path,
            metavar="REST",
            help="store the good rows and write the wrong ones to this file (.csv or .xlsx), with what to correct; send it again corrected",
        )
        parser.add_argument(
            "--rest-of",
            type=int,
            metavar="LOAD",
            help="the number of the load this file is the rest of; needed only where its rows do not say so in their first row",
        )
        parser.add_argument("--as", dest="person", help="sign-in name of the person who loads; default: the first lead")
        parser.add_argument("--reason", default="", help="why existing records change; stored with each change")

    def handle(self, *, file, **options):
        files = named_files(file)
        self._check_rest(options["set_aside"], files)
        rows = sum(rows_about(self._read(path), path.name) for path in files)
        is_long = rows_by_kind(rows, self._mapping(options["columns"])) > settings.LONG_SHEET_ROWS
        lines = ProgressLines(self.stderr)
        try:
            with listening(lines) if is_long else nullcontext():
                plans = self._in_one(lambda: self._load_all(files, options), is_long, options["dry_run"], len(files))
        except Busy as busy:
            raise CommandError(busy.messages[0]) from busy
        finally:
            lines.end()
        for path, plan in zip(files, plans, strict=True):
            self._say(path, plan, **options)

    @staticmethod
    def _in_one(work, is_long, dry_run, count):
        """What the work gives. A long load is prepared on a copy, so that others can save meanwhile."""
        if is_long and dry_run:
            return tried_apart(work)
        if is_long:
            prepared = prepared_apart(work)
            with prepared.around(), writing():
                return prepared.store()
        if count == 1:
            return work()
        with loading(), writing():
            return work()

    def _load_all(self, files, options):
        """The plans of the files, each as it was stored."""
        plans = []
        for number, path in enumerate(files, start=1):
            try:
                plans.append(self._load(file=path, **options))
            except (CommandError, SystemExit):
                if len(files) > 1:
                    self.stderr.write(f"File {number} of {len(files)} is refused, so the other files are not stored either.")
                raise
        return plans

    def _load(self, *, kind, file, dry_run, columns, given, person, reason, set_aside, rest_of, **options):
        content, spec = self._read(file), self._spec(columns, given)
        try:
            if not spec or not FROM_NAMES.isdisjoint(spec):  # a rest has a name of its own
                spec = rest_read_by(spec, self._earlier_spec(rest_of, kind, content, file.name))
            if kind == COMBINED.kind:
                return self._combined(file, self._actor(person, COMBINED), spec, reason, dry_run, set_aside is not None)
            return sheet_load(
                actor=self._actor(person, KINDS[kind]), kind=kind, content=content, filename=file.name,
                spec=spec, reason=reason, dry_run=dry_run, set_aside=set_aside is not None,
            )  # fmt: skip
        except SheetError as error:
            raise CommandError(str(error)) from error
        except Busy as busy:
            raise CommandError(busy.messages[0]) from busy
        except ReasonMissing as error:
            raise CommandError(f"{error} Give it with --reason, in quotation marks.") from error
        except SheetRefused as refused:
            for line in grouped(refused.plan.problems):
                self.stderr.write(line)
            if refused.plan.not_taken:
                self.stderr.write(refused.plan.column_words())
            self.stderr.write(f"{file.name}: nothing stored. {refused.plan.summary()}.")
            sys.exit(1)

    def _say(self, file, plan, *, kind, dry_run, set_aside, **options):
        """What was stored, and what else there is to know."""
        if kind == COMBINED.kind:
            warnings, aside = plan.warning_lines(), plan.aside_lines()
        else:
            warnings, aside = grouped(plan.warnings), grouped([problem for problems in plan.aside.values() for problem in problems])
        for line in aside:
            self.stderr.write(f"set aside: {line}")
        for line in warnings:
            self.stderr.write(f"warning: {line}")
        for note in filter(None, (plan.column_words(), *plan.notes)):
            self.stdout.write(note)
        self.stdout.write(f"{file.name}: {'would store' if dry_run else 'stored'} {plan.summary()}.")
        if plan.load is not None:
            self._write_rest(plan.load, set_aside)

    @staticmethod
    def _check_rest(path, files):
        if path is not None and len(files) > 1:
            raise CommandError("--set-aside takes one file at a time: each load has a rest of its own.")
        if path is not None and path.suffix.lower() not in (".csv", ".xlsx"):
            raise CommandError("Give --set-aside a file that ends in .csv or .xlsx: the wrong rows are written to it.")
        if path is not None and path.exists():
            raise CommandError(f"{path} is there already. Give --set-aside a new file, so that no rest is overwritten.")

    def _write_rest(self, load, path):
        self.stdout.write(f"This is load {load.pk}.")
        if not load.aside:
            return
        try:
            rest = rest_bytes(load, upload_content(load.upload), load.aside, path.suffix.lower().removeprefix("."))
            path.write_bytes(rest)
        except SheetError as error:
            raise CommandError(f"{error} The page of load {load.pk} has it.") from error
        except OSError as error:
            raise CommandError(f"{path} cannot be written: {error.strerror}. Download the rest on the page of load {load.pk}.") from error
        self.stdout.write(f"{amount_words(load.aside_count, 'rows')} to correct: {path}. Correct them there and load that file.")

    def _combined(self, file, actor, spec, reason, dry_run, set_aside):
        """A sheet of several kinds."""
        try:
            files = {name: self._read(file.parent / pathlib.PurePath(name).name) for name in second_files(spec)}
            return combined_load(
                actor=actor, content=self._read(file), filename=file.name, spec=spec, reason=reason, dry_run=dry_run, files=files,
                set_aside=set_aside,
            )  # fmt: skip
        except SheetRefused as refused:
            for line in refused.plan.problem_lines():
                self.stderr.write(line)
            for note in filter(None, (refused.plan.column_words(), *refused.plan.notes)):
                self.stderr.write(note)
            self.stderr.write(f"{file.name}: nothing stored. {refused.plan.summary()}.")
            sys.exit(1)

    @staticmethod
    def _read(path):
        try:
            if path.stat().st_size > MAX_BYTES:
                raise CommandError(
                    f"{path.name} has {path.stat().st_size / 1e6:.0f} MB; the limit is {MAX_BYTES / 1e6:.0f} MB. Split the sheet."
                )
            return path.read_bytes()
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}.") from error

    def _spec(self, path, given):
        spec = self._mapping(path)
        named = dict((pair or "").partition("=")[::2] for pair in given)  # argparse makes an empty list of "--"
        if any("=" not in pair for pair in given) or "" in named:
            raise CommandError("Write --set as NAME=VALUE, such as --set year=2022.")
        return spec | {"set": named} if named else spec

    @staticmethod
    def _earlier_spec(rest_of, kind, content, filename):
        """The mapping of the load a file is the rest of."""
        earlier = open_load(rest_of or rest_load(content, filename), kind)
        if rest_of and earlier is None:
            what = (COMBINED if kind == COMBINED.kind else KINDS[kind]).title.lower()
            raise CommandError(f"Load {rest_of} is not on file as a load of {what}, or it was withdrawn.")
        # the second files are those beside the rest
        return {name: value for name, value in rest_spec(earlier).items() if name != SECOND_FILES} if earlier else {}

    def _mapping(self, path):
        if path is None:
            return {}
        try:
            spec = json.loads(self._read(path))
        except (ValueError, RecursionError) as error:  # not text, not JSON, a number of thousands of digits, nested too deep
            raise CommandError(f"{path} is not JSON: {error}.") from error
        if not isinstance(spec, dict):
            raise CommandError(f'{path} must hold one JSON object with "columns".')
        return spec

    @staticmethod
    def _actor(username, sheet):
        try:
            actor = acting_person(username)
        except Person.DoesNotExist as error:
            raise CommandError(str(error)) from error
        if not (actor.may(sheet.action) and actor.may(sheet.edit_action)):
            raise CommandError(f"{actor.username} ({actor.role_label}) may not load {sheet.title.lower()}. Nothing was stored.")
        return actor
