"""What a record page declares: facts, actions and sections. The page (the view) draws them for the person who looks.

Words and functions in a declaration take the page, which has `object`, `user` and `today`, and whatever it reads once as a
cached property. A row's value is a dotted path or a function of the row. `may` names an action of the role table: who may
not do it does not see the line, the column or the section.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from registry.calc.shared.part_dates import SomeDate
from registry.selectors.shared.local_words import local_count, local_day, local_moment
from registry.views.shared.tables import Link, follow, ledger_table


def said(words, page, *more):
    """Something declared as it is, or as a function of the page."""
    return words(page, *more) if callable(words) else words


def as_words(value):
    """A value as a fact shows it: days and moments in words, yes or no for a flag."""
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if isinstance(value, datetime):
        return local_moment(timezone.localtime(value))
    return local_day(value) if isinstance(value, SomeDate) else value


@dataclass(frozen=True, slots=True)
class Fact:
    """A line of facts. A blank value is left out; with `always` it reads "not recorded". `value` is a dotted path from the record
    or a function of the page, `url` a `Link` or a function of the page."""

    label: object
    value: object
    url: Link | Callable | None = None
    may: str = ""
    always: bool = False

    def draw(self, page):
        if self.may and not page.may(self.may):
            return None
        value = as_words(self.value(page) if callable(self.value) else follow(page.object, self.value))
        if value in (None, "") and not self.always:
            return None
        url = self.url.address(page.object, page.user) if isinstance(self.url, Link) else self.url(page) if self.url else None
        return said(self.label, page), value, url


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do from here. `route` takes the key of the record (`key`: a dotted path, or a function of the page that may give
    several; None for a route without one); `query` is a function of the page. The first action that is drawn is the main one."""

    label: object
    route: str
    may: str
    when: Callable | None = None
    key: object = "pk"
    query: Callable | None = None

    def draw(self, page):
        """(label, address), or None for who may not, or where it does not apply."""
        if not page.may(self.may) or (self.when and not self.when(page)):
            return None
        key = self.key(page) if callable(self.key) else follow(page.object, self.key) if self.key else None
        url = reverse(self.route, args=key if isinstance(key, tuple) else () if key is None else (key,))
        return said(self.label, page), f"{url}?{urlencode(self.query(page))}" if self.query else url


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A table of a record page. Without rows it is not drawn: `missing` is then named at the foot, with a link to add the first.

    `rows` is a function of the page; `columns` a tuple, or a function of (page, rows), as `note` and `totals` (the cells of the last row,
    from the left) may be. `most` is how many rows the page shows; where there are more, the note says how many there are. `add` is the
    Action that makes a row: offered with the rows, and at the foot where there is none.
    """

    title: object
    rows: Callable
    columns: object
    unit: object = "rows"
    id: str = ""
    may: str = ""
    when: Callable | None = None
    missing: object = ""
    add: Action | None = None
    actions: tuple = ()
    note: object = ""
    totals: Callable | None = None
    mark: Callable | None = None
    counted: bool = True
    most: int | None = None

    def draw(self, page):
        rows, of_how_many = self._rows_shown(page)
        if not rows:
            return None
        columns = [column for column in said(self.columns, page, rows) if column.shown_to(page.user)]
        table = ledger_table(
            said(self.title, page),
            columns,
            rows,
            unit=said(self.unit, page),
            note=" ".join(str(words) for words in (said(self.note, page, rows), of_how_many) if words),
            mark=self.mark,
            user=page.user,
        )
        table |= {"id": self.id, "actions": drawn(page, [*([self.add] if self.add else []), *self.actions])}
        if self.totals:
            cells = self.totals(page, rows)
            table["totals"] = [*cells, *[("", "left", None, "blank")] * (len(columns) - len(cells))]
        return [table if self.counted else table | {"count": None}]

    def _rows_shown(self, page):
        rows = self.rows(page)
        shown = list(rows[: self.most] if self.most else rows)
        if not self.most or len(shown) < self.most:
            return shown, ""
        total = len(rows) if isinstance(rows, (list, tuple)) else rows.count()
        words = gettext("The first %(shown)s of %(total)s.") % {"shown": local_count(self.most), "total": local_count(total)}
        return shown, words if total > self.most else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """Parts of a record page that are not a table of rows: `draw_parts` is a function of the page and gives them as the template
    takes them."""

    draw_parts: Callable
    may: str = ""
    when: Callable | None = None
    missing: object = ""
    add: Action | None = None

    def draw(self, page):
        return list(self.draw_parts(page)) or None


def as_written(title, value, **more):
    """A text as somebody typed it, under its own heading. `value` is a dotted path from the record or a function of the page."""

    def parts(page):
        text = value(page) if callable(value) else follow(page.object, value)
        return [{"title": title, "include": "registry/shared/_as_written.html", "text": text}] if text else []

    return Panel(draw_parts=parts, **more)


def drawn(page, declared):
    """What is declared, drawn for this page and person, without what does not apply."""
    return [line for line in (item.draw(page) for item in declared) if line is not None]


def draw_sections(page, sections):
    """Returns (parts, missing): the parts that have something in them, and what is not recorded yet as (words, address or None)."""
    parts, missing = [], []
    for section in sections:
        if (section.may and not page.may(section.may)) or (section.when and not section.when(page)):
            continue
        found = section.draw(page)
        if found is not None:
            parts += found
        elif section.missing:
            add = section.add.draw(page) if section.add else None
            missing.append((said(section.missing, page), add and add[1]))
    return parts, missing


def each_action_once(actions, parts):
    """The actions for the top of the page, without those drawn beside a section. The main one stays on top and leaves its section."""
    for part in parts:
        if part.get("actions"):
            part["actions"] = [action for action in part["actions"] if action not in actions[:1]]
    beside = [action for part in parts for action in part.get("actions") or ()]
    return actions[:1] + [action for action in actions[1:] if action not in beside]


def contents_of(parts):
    """The parts that can be linked to, for a page long enough to need a list of them: (title, id, count)."""
    return [(part["title"], part["id"], part.get("count")) for part in parts if part.get("id")]
