"""What the answers of results share: the same choices as the pages, read strictly, since a program does not see what it mistyped."""

from typing import NamedTuple

from django import forms
from django.http import QueryDict
from django.urls import reverse

from plantings.calc.api.openapi import Parameter
from plantings.forms.survival.choice_words import CHOICE_WORDS
from registry.views.shared.json_api import JsonApiView
from registry.views.shared.problems import Problem

ROWS_USUAL, ROWS_MOST = 100, 1_000
PAGE = Parameter("page", {"type": "integer", "minimum": 1, "default": 1}, "Number of the page of rows.")
SIZE = Parameter("size", {"type": "integer", "minimum": 1, "maximum": ROWS_MOST, "default": ROWS_USUAL}, "Rows a page.")
_YES, _NO = ("true", "on"), ("false", "")
_DIGITS_MOST = 6


class Page(NamedTuple):
    """One page of rows; `next` is the address of the next one, None on the last."""

    count: int
    number: int
    pages: int
    next: str | None
    rows: list


class ResultsApiView(JsonApiView):
    """Declare `path`, `summary`, `shape`, and `get_values()`, which gives (what the shape reads, what its fields need besides); and in
    `later` the shape of what it answers while its figures are being worked out."""

    path = summary = ""
    shape = later = None
    form_class = None
    extra = (PAGE, SIZE)

    @classmethod
    def parameters(cls, user):
        """The Parameters of this address, from the boxes of the form."""
        boxes = cls.form_class(user, QueryDict()).fields if cls.form_class else {}
        defaults = getattr(cls.form_class, "defaults", {})
        choices = [Parameter(name, _schema(box, defaults.get(name)), CHOICE_WORDS[name]) for name, box in boxes.items()]
        return (*choices, *cls.extra)

    @classmethod
    def shape_now(cls):
        """The shape of the answer; where it depends on the records it is made for each request."""
        return cls.shape

    def get_answer(self):
        self.read_choices()
        row, answer = self.get_values()
        return self.shape_now().values(row, answer)

    def read_choices(self):
        """Fills `form` and `numbers`; raises a Problem that names every parameter that is wrong."""
        given = self.request.GET
        boxes = self.form_class.base_fields if self.form_class else {}
        known = [*(name for name, box in boxes.items() if box is not None), *(one.name for one in self.extra)]
        wrong = [(name, f"This address does not know this parameter. Use {', '.join(known)}.") for name in given if name not in known]
        wrong += [(name, "It is given more than once. Give it once.") for name in given if name in known and len(given.getlist(name)) > 1]
        for name, box in boxes.items():
            if isinstance(box, forms.BooleanField) and given.get(name, "").lower() not in (*_YES, *_NO):
                wrong.append((name, "Write true or false."))
        self.numbers = {}
        for one in self.extra:
            if one.schema["type"] == "integer":
                self.numbers[one.name] = self._number(one, wrong)
        if self.form_class:
            self.form = self.form_class(self.request.user, given)
            wrong += [(name, _what_is_wrong(self.form.fields[name], messages)) for name, messages in self.form.errors.items()]
        if wrong:
            raise Problem(400, "A parameter cannot be read. Correct it and ask again; errors says which.", wrong)

    def _number(self, one, wrong):
        text = self.request.GET.get(one.name, "")
        if not text:
            return one.schema["default"]
        number = int(text) if text.isascii() and text.isdigit() and len(text) <= _DIGITS_MOST else 0
        most = one.schema.get("maximum", 10**_DIGITS_MOST)
        if not 1 <= number <= most:
            wrong.append((one.name, f"Write a whole number from 1 to {most}."))
        return number

    def page_of(self, rows):
        """The Page asked for of a list."""
        start, stop = self.window
        return self.paged(len(rows), rows[start:stop])

    @property
    def window(self):
        """(first, last + 1) of the rows of the page that is asked for."""
        first = (self.numbers["page"] - 1) * self.numbers["size"]
        return first, first + self.numbers["size"]

    def paged(self, count, rows):
        pages = max(1, -(-count // self.numbers["size"]))
        number = self.numbers["page"]
        return Page(count, number, pages, self.address(page=number + 1) if number < pages else None, rows)

    def page_of_choices(self, route):
        """The address of the page with the same choices."""
        query = self.request.GET.copy()
        for one in self.extra:
            query.pop(one.name, None)
        return f"{reverse(route)}?{query.urlencode()}"

    def address(self, **changes):
        """This address with other values of some parameters."""
        query = self.request.GET.copy()
        for name, value in changes.items():
            query[name] = value
        return self.request.build_absolute_uri(f"{self.request.path}?{query.urlencode()}")


def _is_listed(box):
    """Whether a box has a short list of codes; sites are records, and there may be thousands."""
    return isinstance(box, forms.ChoiceField) and not isinstance(box, forms.ModelChoiceField)


def _codes(box):
    return [str(code) for code, _words in box.choices if code]


def _what_is_wrong(box, messages):
    return f"Write one of {', '.join(_codes(box))}." if _is_listed(box) else " ".join(messages)


def _schema(box, default):
    if isinstance(box, forms.BooleanField):
        schema = {"type": "boolean"}
    elif _is_listed(box):
        schema = {"type": "string", "enum": _codes(box)}
    else:
        schema = {"type": "string"} | ({"maxLength": box.max_length} if getattr(box, "max_length", None) else {})
    return schema | ({"default": default} if default else {})
