"""The look: templates that a strict policy accepts, and inks that can be read on their paper."""

import re
from pathlib import Path

import pytest
from django.template import engines

import registry.templatetags.parts as parts

PACKAGE = Path(parts.__file__).resolve().parent.parent
TOKENS = PACKAGE / "static" / "registry" / "css" / "base" / "tokens.css"
TEMPLATES = PACKAGE / "templates"


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: path.relative_to(TEMPLATES).as_posix())
def test_template_loads_and_holds_no_inline_style_or_script(path):
    engines["django"].get_template(path.relative_to(TEMPLATES).as_posix())
    text = path.read_text()
    assert not re.search(r"\sstyle=|<style|\son\w+=|javascript:", text)
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))


def test_base_stays_short():
    # the project's own limit for base.html
    assert len((TEMPLATES / "base.html").read_text().splitlines()) <= 80


# Colours


def _colours(block):
    return dict(re.findall(r"--([a-z0-9-]+): (#[0-9A-F]{6});", block))


def _schemes():
    day, night = TOKENS.read_text().split("@media (prefers-color-scheme: dark)")
    return {"day": _colours(day), "night": _colours(day) | _colours(night)}


def _luminance(colour):
    # WCAG 2.2, definition of relative luminance
    shares = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one, other):
    # WCAG 2.2, definition of contrast ratio
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white_is_twenty_one():
    # WCAG 2.2: the ratio runs from 1 to 21
    assert _contrast("#000000", "#FFFFFF") == pytest.approx(21)


@pytest.mark.parametrize("scheme", ["day", "night"])
@pytest.mark.parametrize("ground", ["ground", "raised", "tint"])
@pytest.mark.parametrize("ink", ["ink", "soft", "pencil", "pencil-deep", "alive", "dead", "unaccounted", "caution"])
def test_every_ink_can_be_read_on_every_paper(scheme, ground, ink):
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text
    colours = _schemes()[scheme]
    assert _contrast(colours[ink], colours[ground]) >= 4.5


@pytest.mark.parametrize("scheme", ["day", "night"])
@pytest.mark.parametrize(
    ("one", "other", "least"),
    [
        ("edge", "ground", 3),  # WCAG 2.2, 1.4.11: the edge of a box to write in
        ("edge", "raised", 3),
        ("on-pencil", "pencil", 4.5),  # WCAG 2.2, 1.4.3: the words on a button
        ("on-pencil", "pencil-deep", 4.5),
        ("caution", "caution-tint", 4.5),
        ("ink", "caution-tint", 4.5),
        ("soft", "caution-tint", 4.5),
        *[("ink", f"heat-{step}", 4.5) for step in range(5)],  # WCAG 2.2, 1.4.3: the number in its cell
        ("alive", "band", 3),  # WCAG 2.2, 1.4.11: the interval on its band
    ],
)
def test_colours_drawn_on_each_other_have_enough_contrast(scheme, one, other, least):
    colours = _schemes()[scheme]
    assert _contrast(colours[one], colours[other]) >= least


@pytest.mark.parametrize(
    ("scheme", "name", "colour"),
    [
        ("day", "ground", "#FBF8F1"),
        ("day", "ink", "#1E2723"),
        ("day", "pencil", "#8C3B14"),
        ("night", "ground", "#171B19"),
        ("night", "alive", "#74B7E6"),
    ],
)
def test_tokens_are_the_agreed_inks(scheme, name, colour):
    # the look agreed for the books (the table of colours in the design papers)
    assert _schemes()[scheme][name] == colour
