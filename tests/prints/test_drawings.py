"""A picture made of shapes is drawn by the page and by the print; each style has its look in both."""

import datetime
import re
from pathlib import Path

from django.contrib.staticfiles import finders

from registry.calc.shared.shapes import FORMS, Box, Dot, Line, Marks, Picture, Trace, Words
from registry.prints.document import Document, Drawing
from registry.prints.drawing_part import LOOKS
from registry.prints.pages import draw_document
from registry.prints.stored import canonical_json, document_value, read_document
from registry.templatetags.shapes import drawn
from tests.prints.reading import page_texts, pictures

EVERY_SHAPE = (
    Line("axis", 0, 90, 200, 90), Box("bar", 10, 40, 20, 50), Dot("estimate", 60, 50, 4), Dot("shrunken", 90, 50, 6, is_diamond=True),
    Trace("band", ((120, 20), (160, 20), (160, 60), (120, 60)), is_area=True), Words("name", 10, 20, "Alive: 3 < 4"),
    *(Marks("axis", form, 3, ((20 + 20 * number, 80), (20 + 20 * number, 95))) for number, form in enumerate(FORMS)),
)  # fmt: skip


def document(picture):
    return Document("A picture", datetime.date(2026, 11, 30), (Drawing("Trees", picture, "Three trees."),))


def test_each_style_has_a_look_on_the_page_and_on_paper():
    sheet = Path(finders.find("registry/css/parts/drawn.css")).read_text()
    assert set(re.findall(r"\.drawn-([\w-]+)", sheet)) | {"label"} == set(LOOKS)


def test_page_and_print_draw_every_shape():
    picture = Picture(200, 100, EVERY_SHAPE)
    svg = drawn(picture)
    assert "Alive: 3 &lt; 4" in svg and svg.count("drawn-axis") == 1 + len(FORMS)
    content = draw_document(document(picture))
    assert "Alive: 3 < 4" in page_texts(content)[0]
    blank = draw_document(document(Picture(200, 100, (Words("name", 10, 20, "Alive: 3 < 4"),))))
    ink, none = (sum(pictures(one, dpi=72)[0].point(lambda value: value < 128).get_flattened_data()) for one in (content, blank))
    assert ink > none + 300


def test_a_picture_is_stored_and_read_back_as_it_was():
    first = document(Picture(200, 100, EVERY_SHAPE))
    assert read_document(document_value(first)) == first
    assert "Three trees." in canonical_json(document_value(first))


def test_a_mark_of_the_page_lies_where_the_print_has_it():
    cross = drawn(Picture(20, 20, (Marks("axis", "cross", 3, ((10, 10),)),)))
    assert 'd="M7 7l6 6m-6 0l6-6"' in cross
    assert 'd="M7 7h6v6h-6z"' in drawn(Picture(20, 20, (Marks("axis", "square", 3, ((10, 10),)),)))
