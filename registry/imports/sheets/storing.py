"""How a checked sheet is stored: all rows or none, those that others build on first, and only tried for a preview."""

import time
from contextlib import contextmanager, nullcontext

from django.core.exceptions import ValidationError
from django.db import connection

from registry.imports.sheets.cells.records import Ahead
from registry.imports.sheets.plan import CHANGED, UNCHANGED, Problem, ReasonMissing, SheetRefused
from registry.services.audit.apart import is_on_copy
from registry.services.audit.busy import loading
from registry.services.audit.write import writing
from registry.services.shared.progress import counted
from registry.services.shared.records import record_save
from registry.services.shared.rows_refused import RowsRefused

__all__ = ["TRIAL_NOTE", "TRIAL_SECONDS", "Storing"]

TRIAL_SECONDS = 2.0  # a trial has the database to itself on SQLite, and whoever saves meanwhile waits that long
TRIAL_NOTE = (
    "This sheet is long. Every row was checked by itself, but saving them was tried for the first rows only, since nobody else can save "
    "during a trial. The rest is tried when you save the sheet: all of it is saved, or nothing."
)


class _TrialEnds(Exception):
    """The time of a trial is over; what it stored is taken back."""


class Storing:
    """The part of a sheet that stores its plan. A kind of sheet overrides `store_items`, `save_row` or `save_record`."""

    saving_words = "Saving"  # how far it is begins with this
    gives_back = False  # records get the cells that they had before: nothing is asked that was answered then
    trial_store = True  # a preview stores and rolls back, so that what the services refuse is shown too

    def store(self, plan, actor, reason="", trial=False):
        """Store a plan without problems, all or nothing; with `trial`, undo it again.

        Raises SheetRefused, with every row the services refused among the plan's problems; ReasonMissing when records
        would change without one.
        """
        self.saving_words = "Trying to save" if trial else "Saving"
        if not plan.problems and not (trial and not self.trial_store):
            with nullcontext() if trial else loading(), writing() as stored:
                stored.is_trial = trial
                wanted = [item for item in plan.items if item.outcome != UNCHANGED]
                with _short(plan) if trial and not is_on_copy() else nullcontext():
                    self.store_items(wanted, actor, reason, plan)
                changed = plan.counts[CHANGED]
                if changed and not reason.strip() and not trial and not plan.problems:
                    raise ReasonMissing(changed)
                stored.is_trial = trial or bool(plan.problems)
        if plan.problems:
            raise SheetRefused(plan)

    def store_items(self, items, actor, reason, plan):
        """Store the rows one by one, those another row of the sheet builds on first."""
        made, waiting = {}, items
        while waiting:
            later = []
            for item in counted(waiting, f"{self.saving_words} {self.title.lower()}"):
                if any(code not in made for code in _ahead(item)):
                    later.append(item)
                else:
                    made[item.key[0]] = self._try(item, made, actor, reason, plan)
            if len(later) == len(waiting):
                for item in later:
                    codes = ", ".join(sorted(set(_ahead(item)) - made.keys()))
                    self._add_problem(
                        plan, Problem(item.row, "", "", f"builds on {codes}, which is in a loop of this sheet or was refused itself")
                    )
                return
            waiting = later

    def _try(self, item, made, actor, reason, plan):
        values = {name: made[value.code] if isinstance(value, Ahead) else value for name, value in item.values.items()}
        if any(made[value.code] is None for value in item.values.values() if isinstance(value, Ahead)):
            return None  # what it builds on was refused; that problem is listed
        return self.attempt(plan, item, lambda: self.save_row(values, item, actor, reason))

    def attempt(self, plan, item, save, together=()):
        """Run one service call for one row, or for it and those stored `together` with it.

        What the service refuses becomes a problem of the rows it names (`RowsRefused`), otherwise of the first, and all go with it.
        """
        rows = (item, *together)
        try:
            with writing():
                return save()
        except RowsRefused as refused:
            for place, error in sorted(refused.faults.items()):
                self._refused(plan, rows[place], error, tuple(rows[other].row for other in refused.tied.get(place, ())))
        except ValidationError as error:
            self._refused(plan, item, error, tuple(other.row for other in together))
        return None

    def _refused(self, plan, item, error, tied):
        for name, message in _messages(error):
            header = self.header(name) if name in self.sheet_fields() else ""
            value = self.shown(name, item.values.get(name)) if header else ""
            self._add_problem(plan, Problem(item.row, header, value, message, tied))

    def save_row(self, values, item, actor, reason):
        """Store one row and return its record."""
        record = item.current or self.model()
        many, links = {}, {field.name for field in self.model._meta.many_to_many}
        for name, value in values.items():
            attribute = self.sheet_fields()[name].attribute
            if attribute in links:
                many[attribute] = value
            else:
                setattr(record, attribute, value)
        return self.save_record(record, many, actor, reason)

    def save_record(self, record, many, actor, reason):
        return record_save(actor=actor, obj=record, many=many, reason=reason)


@contextmanager
def _short(plan):
    """Ends a trial before the first statement after its time; looking at each row would not do, since one service may store thousands."""
    ends, over = time.monotonic() + TRIAL_SECONDS, False

    def in_time(execute, sql, params, many, context):
        nonlocal over
        if not over and time.monotonic() > ends:
            over = True  # the statements that take back what was tried go on
            raise _TrialEnds
        return execute(sql, params, many, context)

    with connection.execute_wrapper(in_time):
        try:
            yield
        except _TrialEnds:
            plan.notes.append(TRIAL_NOTE)


def _ahead(item):
    return [value.code for value in item.values.values() if isinstance(value, Ahead)]


def _messages(error):
    if hasattr(error, "error_dict"):
        return [(name, message) for name, errors in error.message_dict.items() for message in errors]
    return [("", message) for message in error.messages]
