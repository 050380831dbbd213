import json
from argparse import ArgumentTypeError

from django.core.management.base import BaseCommand, CommandError

from plantings.calc.survival.census_choice import read_census_choice
from plantings.calc.survival.groups import BY, LEVEL_FIRST_SHOWN, LEVELS, LINEAGE, ROLES_COUNTED
from plantings.calc.survival.survival import survival_text
from plantings.calc.survival.words import (
    band_words,
    definitions,
    difference_words,
    export_headers,
    export_row,
    pressure_words,
)
from plantings.models import Site
from plantings.selectors.survival.rounds import NOT_KNOWN, SurvivalFilter
from plantings.selectors.survival.survival import survival_rows
from registry.access import roles
from registry.calc.shared.iso import iso_day
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.formats import write_rows
from registry.models import Person


class Command(BaseCommand):
    help = "Survival by site and lineage at equal ages, with intervals: all records, as the lead sees them."

    def add_arguments(self, parser):
        parser.add_argument("--by", nargs="+", choices=BY, default=["site", LINEAGE], help="what rows are grouped by, in this order")
        parser.add_argument("--level", choices=LEVELS, default=LEVEL_FIRST_SHOWN, help="what lineage is taken as (default: %(default)s)")
        parser.add_argument(
            "--at",
            type=_moment,
            metavar="CENSUS",
            help="age-3 (growing seasons), season-2025, visit-2 or latest; default: the age half of them reached",
        )
        parser.add_argument("--open", action="store_true", help="also censuses that are still open or thinly visited")
        parser.add_argument("--site", default="", metavar="CODE", help="only this site")
        parser.add_argument("--jurisdiction", default="", metavar="CODE", help=f"only this jurisdiction, such as US-VT, or '{NOT_KNOWN}'")
        parser.add_argument("--role", choices=ROLES_COUNTED, default="", help="only trees under test, or only checks")
        parser.add_argument("--order", choices=("label", "survival"), default="label", help="under ten trees is never ranked")
        parser.add_argument("--format", choices=("table", "csv", "json"), default="table", dest="wanted")

    def handle(self, *, by, level, at, site, jurisdiction, role, order, wanted, **options):
        if len(set(by)) < len(by):
            raise CommandError(f"--by names {' '.join(by)}: name each word once.")
        self._known(site, jurisdiction)
        lead = Person(role=roles.LEAD)  # no account: records are read as a lead would see them
        limits = SurvivalFilter(site, jurisdiction, role, open_rounds=options["open"])
        table = survival_rows(lead, tuple(by), level, at, limits, by_survival=order == "survival")
        if not table.rows:
            self._refuse_empty(table)
        {"table": self._write_table, "csv": self._write_csv, "json": self._write_json}[wanted](table)

    @staticmethod
    def _known(site, jurisdiction):
        if site and not Site.objects.filter(code=site).exists():
            raise CommandError(f"There is no site '{site}'. Give its code, as in the list of sites.")
        if jurisdiction and jurisdiction != NOT_KNOWN and not Site.objects.filter(jurisdiction=jurisdiction).exists():
            have = sorted(Site.objects.exclude(jurisdiction="").order_by().values_list("jurisdiction", flat=True).distinct())
            raise CommandError(f"No site is in '{jurisdiction}'. There are sites in: {', '.join(have) or 'no known jurisdiction'}.")

    @staticmethod
    def _refuse_empty(table):
        if not table.moment or not table.ages:
            count = amount_words(len(table.not_complete), "censuses")
            waiting = f" No record counts before its review: {'; '.join(map(_waiting_words, table.waiting))}." if table.waiting else ""
            raise CommandError(f"No census is complete there yet. {count} still open or thinly visited; --open shows them.{waiting}")
        ages = ", ".join(str(age) for age, _ in table.ages)
        raise CommandError(f"No complete census {table.moment.words} there. Complete ones are of age: {ages}.")

    def _write_table(self, table):
        heads = [*table.by, "role", "survival (95 % interval)", "band", "from the checks", "disease pressure", "sites"]
        lines = [heads, *(self._cells(row, row.keys) for row in table.rows)]
        lines += [self._cells(row, (f"all {row.role_plural}", *[""] * (len(table.by) - 1))) for row in table.totals]
        widths = [max(len(line[place]) for line in lines) for place in range(len(heads))]
        for line in lines:
            self.stdout.write("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())
        self.stdout.write(f"\nAlive {table.moment.words}; read on {table.as_of}. {amount_words(len(table.rows), 'rows')}.")
        if table.unread:
            counted = "and counted all the same" if table.unread_count else "and not counted"
            self.stdout.write(f"Not reviewed yet: {amount_words(table.unread, 'records')}, {counted}.")
        if table.waiting:
            self.stdout.write(f"No record counts before its review: {'; '.join(map(_waiting_words, table.waiting))}.")
        if table.overtaken:
            results = ", ".join(f"{item.round} of {iso_day(item.entered_at)}" for item in table.overtaken)
            self.stdout.write(f"Records came in after these results were given out: {results}.")
        if table.not_complete:
            self.stdout.write(f"Not complete: {', '.join(sorted({item.part.planting for item in table.not_complete}))}.")
        if table.left_out:
            self.stdout.write(f"Left out: {'; '.join(f'{left.planting} ({left.reason})' for left in table.left_out)}.")
        for term, sentence in definitions(table.protocol_versions, table.complete_percent):
            self.stdout.write(f"{term}: {sentence}")

    @staticmethod
    def _cells(row, keys):
        figure = survival_text(row, with_band=False)
        return [*keys, row.role_words, figure, band_words(row), difference_words(row), pressure_words(row), str(len(row.sites))]

    def _write_csv(self, table):
        # without the byte order mark that only spreadsheets need
        self.stdout.write(write_rows(export_headers(table.by), _export(table), "csv").decode("utf-8-sig"), ending="")

    def _write_json(self, table):
        headers = export_headers(table.by)
        document = {
            "as_of": table.as_of.isoformat(),
            "by": table.by,
            "level": table.level,
            "census": table.moment.code,
            "growing_seasons": table.season,
            "rows": [dict(zip(headers, row, strict=True)) for row in _export(table)],
            "left_out": [{"planting": left.planting, "site": left.site, "reason": left.reason} for left in table.left_out],
            "not_complete": [
                {"planting": part.planting, "round": part.label, "sown": part.sown, "why": part.why, **part.progress._asdict()}
                for part, _shown in table.not_complete
            ],
            "waiting": [item._asdict() for item in table.waiting],
            "unread": table.unread,
            "unread_count": table.unread_count,
            "definitions": dict(definitions(table.protocol_versions, table.complete_percent)),
        }
        self.stdout.write(json.dumps(document, ensure_ascii=False, indent=1))


def _waiting_words(item):
    return f"{item.planting} {item.label} ({amount_words(item.records, 'records')})"


def _moment(code):
    try:
        return read_census_choice(code)
    except ValueError as error:
        raise ArgumentTypeError(str(error)) from None


def _export(table):
    given = (table.by, table.moment, table.site_names, table.as_of, table.unread_of, table.unread_count)
    return [export_row(row, *given) for row in table.rows]
