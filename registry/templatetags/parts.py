"""Template tags for the parts that are drawn once and used everywhere (`python -m tests.style_guide` shows them all)."""

from itertools import count as numbers

from django import template
from django.template.loader_tags import BLOCK_CONTEXT_KEY
from django.utils.safestring import mark_safe
from django.utils.translation import gettext, ngettext

from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number
from registry.templatetags import parts_drawing as drawing
from registry.templatetags.addresses import find_address

register = template.Library()

_loose_numbers = numbers(1)
_ALIGNMENTS = {"right": "to-right", "center": "to-center", "left wide": "wide"}
_WIDGET_KINDS = {"CheckboxInput": "checkbox", "Textarea": "long", "NumberInput": "number", "DateInput": "date"}


def _value(figure, name):
    return figure.get(name) if isinstance(figure, dict) else getattr(figure, name, None)


def _part_id(context, stem):
    """An id that is used once on a page: numbers are kept on the request, which all templates of a page share."""
    request = context.get("request")
    if request is None:
        return f"{stem}-{next(_loose_numbers)}"
    if not hasattr(request, "part_numbers"):
        request.part_numbers = numbers(1)
    return f"{stem}-{next(request.part_numbers)}"


@register.simple_tag(takes_context=True)
def block_again(context, name):
    """The contents of a block a second time: the title of the sheet is also the title of the window."""
    blocks = context.render_context.get(BLOCK_CONTEXT_KEY)
    block = blocks.get_block(name) if blocks else None
    return block.render(context) if block else context.get(name, "")


@register.simple_tag(takes_context=True)
def part_id(context, stem):
    return _part_id(context, stem)


@register.filter
def beside(words, label):
    """Words beside a label, without the label where they begin with it: “check” beside “native”."""
    return words.removeprefix(f"{label} ")


@register.filter
def to_class(align):
    return _ALIGNMENTS.get(align, "")


@register.filter
def counted(value):
    """A count with its thousands apart, as the reader writes it: 1,204."""
    return local_number(f"{value:,}")


@register.inclusion_tag("partials/survival/_fate_mark.html")
def fate_mark(key, count=None):
    """Mark and word of a fate; `count` puts a number before the word."""
    return {"fate": drawing.fate_of(key), "count": count, "words": drawing.fate_words(key, count)}


@register.inclusion_tag("partials/survival/_fate_glyph.html")
def fate_glyph(key):
    """The mark alone, for places where the word is elsewhere in the same cell or legend."""
    return {"fate": drawing.fate_of(key)}


@register.inclusion_tag("partials/survival/_interval_bar.html")
def interval_bar(share, low, high, band_low=None, band_high=None, label="", n=None, scale=False):
    """Dot, line and the band behind them, from 0 to 1. All inputs are shares, label says of what; `scale` writes 0, 0.5, 1."""
    words = drawing.interval_text(share, low, high, n)
    band = drawing.band_text(band_low, band_high)
    if band:
        words = f"{words}; {gettext('band %(band_words)s') % {'band_words': band}}"
    words = f"{label}{gettext(':')} {words}" if label else words
    return drawing.bar_drawing(share, low, high, band_low, band_high) | {"words": words, "scale": scale}


@register.inclusion_tag("partials/survival/_survival_figure.html")
def survival_figure(figure, bar=False, label="", scale=False):
    """A survival figure in words: count first under 10 trees, else share, interval and n; `bar` draws it as well.

    `figure` is a dict or an object with alive, n, share, low, high and, if known, band_low, band_high, countable (of which n were
    assessed) and `caveats`, words behind the figure.
    """
    names = ("alive", "n", "share", "low", "high", "band_low", "band_high", "countable", "caveats")
    values = {name: _value(figure, name) for name in names}
    if not values["n"] or values["share"] is None:
        return {"reason": local_text(_value(figure, "reason")) or gettext("no trees to count")}
    return values | {
        "count_leads": values["n"] < drawing.COUNT_LEADS_BELOW,
        "share_words": drawing.share_text(values["share"]),
        "range_words": f"{drawing.share_text(values['low'])}–{drawing.share_text(values['high'])}",
        "planted": values["countable"] if (values["countable"] or 0) > values["n"] else None,
        "band_words": drawing.band_text(values["band_low"], values["band_high"]),
        "caveats": [local_text(caveat) for caveat in values["caveats"] or ()],
        "bar": bar,
        "bar_scale": scale,
        "label": label,
    }


@register.inclusion_tag("partials/survival/_heat.html")
def heat(share, n=None):
    """A share in a cell of the survival ramp, with n if given."""
    if share is None:
        return {}
    return {"words": drawing.share_text(share), "step": drawing.heat_step(share), "n": n}


@register.simple_tag
def qr_svg(data):
    """The QR of a text as an inline drawing: dark on light in day and night, or a camera will not read it."""
    import segno

    code = segno.make(str(data), error="m", micro=False)
    return mark_safe(code.svg_inline(omitsize=True, border=4, dark="#000", light="#fff", svgclass="qr", lineclass=None))


@register.inclusion_tag("partials/shared/_code_chip.html", takes_context=True)
def code_chip(context, code, url="", head=False, data=""):
    """A code as a tag with its QR on hover, tap or focus. `head` prints the QR; `data` replaces what it holds."""
    request = context.get("request")
    return {
        "code": code,
        "url": url,
        "head": head,
        "qr_data": data or find_address(request, code),
        "id": _part_id(context, "qr"),
    }


@register.inclusion_tag("partials/plantings/_position_map.html", takes_context=True)
def position_map(context, trees, title="", start=None, walk="", north="", row_one="top", position_one="left", entries=()):
    """Trees in rows and positions, one grid per block.

    `trees` have row, position, fate, label, role, entry, url and block (see `MapTree`); `start` is the
    (row, position) of the start corner; `walk` and `north` are words ("serpentine", "up"); `entries` explains
    the letters as (letter, label, url).
    """
    trees = list(trees)
    grids = drawing.position_grids(trees, start, row_one, position_one)
    for grid in grids:
        grid["id"] = _part_id(context, "positions")
    return {
        "title": title,
        "grids": grids,
        "fates": drawing.fates_shown(trees),
        "roles": sorted({tree.role for tree in trees} - {"test"}),
        "walk": walk,
        "north": north,
        "start": start,
        "entries": entries,
    }


@register.filter
def widget_kind(field):
    """The kind of box a field has, for its layout: checkbox, long, number, date or plain."""
    for kind in type(field.field.widget).__mro__:
        if kind.__name__ in _WIDGET_KINDS:
            return _WIDGET_KINDS[kind.__name__]
    return "plain"


@register.filter
def error_count(form):
    """How many things to correct, in a sentence; each message counts once."""
    total = sum(len(messages) for messages in form.errors.values())
    return ngettext("Please correct %(count)s thing.", "Please correct %(count)s things.", total) % {"count": total}


@register.simple_tag
def form_groups(form):
    """Fields in the groups a form names as `groups = [(legend, (field names))]`; fields in no group come last, unnamed.

    Of each group those the form names in `rarely` are handed out apart, to be folded away: (legend, fields, rarely, open). The fold
    is open when one of them holds a value or an error.
    """
    named = getattr(form, "groups", ())
    seldom = set(getattr(form, "rarely", ()))
    placed = {name for _legend, names in named for name in names}
    groups = [(legend, [form[name] for name in names if name in form.fields]) for legend, names in named]
    rest = [field for field in form.visible_fields() if field.name not in placed]
    drawn = []
    for legend, fields in [*groups, ("", rest)]:
        folded = [field for field in fields if field.name in seldom]
        if fields:
            drawn.append((legend, [field for field in fields if field not in folded], folded, any(_in_use(field) for field in folded)))
    return drawn


def _in_use(field):
    return bool(field.errors) or field.value() not in (None, "", [], False)


def _chosen(bound):
    """What was chosen in one filter, in the words of its list."""
    value = bound.data
    values = value if isinstance(value, list) else [value]
    words = {str(key): str(label) for key, label in getattr(bound.field, "choices", ())}
    return ", ".join(words.get(str(item), str(item)) for item in values if item not in (None, ""))


@register.simple_tag
def filters_in_words(form):
    """The filters in use as 'label: choice', for the print and for the link that clears them."""
    if not form or not form.is_bound:
        return []
    chosen = [(bound.label, _chosen(bound)) for bound in form.visible_fields()]
    return [f"{label}: {words}" for label, words in chosen if words]
