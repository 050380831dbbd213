"""The cells of a ledger table. Written in Python: a list page has hundreds, and a template include for each would take most of its time."""

import datetime
from functools import cache

from django import template
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import conditional_escape
from django.utils.safestring import mark_safe
from django.utils.translation import gettext

from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_words import local_day
from registry.templatetags import parts

register = template.Library()

_NOTHING = '<span class="nothing">–<span class="visually-hidden"> %s</span></span>'
_ONE_LINE = 16  # letters that are not broken into two lines; longer text has a least width, or it would be a word to the line
_WRAPPED = {"state": ('<span class="state">', "</span>"), "latin": ("<i>", "</i>"), "soft": ('<span class="soft">', "</span>")}
_TEXT = {None, "", "code", *_WRAPPED}


@register.simple_tag
def ledger_cells(cells):
    """The cells of one row: tuples (value, align, url, kind); the first is the row's header."""
    html = []
    for number, (value, align, url, kind) in enumerate(cells):
        start = "<td" if number else '<th scope="row"'
        look = parts.to_class(align) + _room(value, kind)
        html.append(f'{start} class="{look}">{_cell(value, url, kind)}{"</td>" if number else "</th>"}')
    return mark_safe("".join(html))  # every value passed conditional_escape or a template


def _room(value, kind):
    """How a cell of text is set: as one line, or with the least width of text that is broken into lines."""
    if value is None or value == "" or kind not in _TEXT:
        return ""
    return " one-line" if len(str(value)) <= _ONE_LINE else " text"


def _cell(value, url, kind):
    if kind == "blank":
        return ""
    words = _NOTHING % gettext("nothing recorded") if value is None or value == "" else _words(value, url, kind)
    if not url:
        return words
    mark = ' class="code"' if kind == "code" else ""
    return f'<a href="{conditional_escape(url)}"{mark}>{words}</a>'


def _words(value, url, kind):
    if kind == "fate":
        return _fate(str(value), parts.drawing.fate_words(value))
    if kind == "interval":
        return render_to_string("partials/survival/_survival_figure.html", parts.survival_figure(value))
    if kind == "heat":
        return render_to_string("partials/survival/_heat.html", parts.heat(parts._value(value, "share"), parts._value(value, "n")))
    if kind == "number":
        return parts.counted(value)
    if kind == "date":
        return _date(value)
    text = conditional_escape(value)
    if kind == "code" and not url:
        return f'<span class="code">{text}</span>'
    before, after = _WRAPPED.get(kind, ("", ""))
    return f"{before}{text}{after}"


def _date(value):
    if isinstance(value, datetime.datetime):
        value = timezone.localtime(value)
    return f'<time datetime="{iso_day(value)}">{local_day(value)}</time>'


@cache
def _fate(key, words):
    return render_to_string("partials/survival/_fate_mark.html", parts.fate_mark(key) | {"words": words})
