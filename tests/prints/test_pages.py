"""Prints of several pages: heads, tables, copies, long and hostile text."""

import datetime
import io
import math

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.prints.document import Alert, Banner, ByHand, Document, Facts, Map, Notes, Table, TableColumn
from registry.prints.map_part import map_view
from registry.prints.pages import draw_document
from tests.prints.reading import codes, overprints, page_texts, page_words, pictures

DAY = datetime.date(2026, 11, 25)
COLUMNS = (TableColumn("Lot", 2, face="code"), TableColumn("What it is", 3, face="latin"), TableColumn("Count", 1, "right"))


def document(*parts, **fields):
    return Document(
        **{"title": "Packing list SH-1", "made_on": DAY, "parts": parts, "code": "SH-1", "scan": ("SH-1",), "made": "made by Ø"} | fields
    )


def rows(count):
    return tuple((f"L{number:04d}", "Juglans cinerea, hybrid material", f"{number} seeds") for number in range(count))


def test_a_long_table_repeats_its_head_on_every_page():
    texts = page_texts(draw_document(document(Table("Contents", COLUMNS, rows(300)))))
    assert len(texts) > 4
    for number, text in enumerate(texts, start=1):
        assert "What it is" in text and f"page {number} of {len(texts)}" in text and "SH-1" in text and "made by Ø" in text
    found = [word for text in texts for word in text.split() if word.startswith("L0")]
    assert found == [row[0] for row in rows(300)]


def test_headings_break_between_words_only():
    labels = ("Planting", "Place", "Presumed dead", "Unaccounted", "Lot", "Verantwortungsbewusst", "Alive", "Dead")
    columns = tuple(TableColumn(label, 3 if label in ("Planting", "Place") else 0.6, "right") for label in labels)
    [text] = page_texts(draw_document(document(Table("Fates", columns, (("x",) * len(columns),)))))
    assert [word for label in labels for word in label.split() if word not in text.split()] == []


def test_long_names_in_a_column_break_between_words_only():
    columns = (TableColumn("Lot", 1, face="code"), TableColumn("Sent to", 0.5), TableColumn("Form", 4), TableColumn("Note", 4))
    cells = ("L-2027-NORTH-0001", "Pennsylvania Conservancy", "Stratified", "cool")
    [text] = page_texts(draw_document(document(Table("Lots", columns, (cells,) * 3))))
    assert [word for cell in cells for word in cell.split() if word not in text.split()] == []


def test_one_endless_word_takes_no_column_of_the_others():
    columns = tuple(TableColumn(label, 1) for label in ("Lot", "Sent to", "Form"))
    [text] = page_texts(draw_document(document(Table("Lots", columns, (("x" * 300, "Pennsylvania", "Stratified"),)))))
    assert "Pennsylvania" in text.split() and "Stratified" in text.split()


def test_a_running_head_names_the_code_once():
    text = page_texts(draw_document(document(Table("Contents", COLUMNS, rows(120)))))[1]
    assert text.splitlines()[0] == "Packing list SH-1"


@pytest.mark.parametrize("page", ["letter", "a4"])
def test_a_heading_stays_with_the_first_row_of_its_table(page):
    first = " ".join(["a long first row"] * 20)
    for count in range(30, 60):
        tables = Table("Before", COLUMNS, rows(count)), Table("Treatments", COLUMNS, (("FIRST", first, "1"),))
        texts = page_words(draw_document(document(*tables), page))
        [heading] = [number for number, text in enumerate(texts) if "Treatments" in text]
        assert "FIRST" in texts[heading], count


@pytest.mark.parametrize(("page", "title", "write_mm"), [("letter", "", 0), ("a4", "Contents", 9)])
def test_no_table_head_is_left_with_fewer_than_two_rows(page, title, write_mm):
    tall = " ".join(["a row of several lines"] * 12)
    table = Table(title, COLUMNS, (("ROW1", tall, "1"), ("ROW2", tall, "2"), *rows(10)), note="As counted on arrival.", write_mm=write_mm)
    split = set()
    for count in range(31, 61):
        before = Notes("", tuple(f"line {number}" for number in range(count)))
        texts = page_texts(draw_document(document(before, table), page))
        assert all("ROW1" in text and "ROW2" in text for text in texts if "arrival" in text), count
        assert all("What it is" in text for text in texts if "L00" in text), count
        split.add(sum("L00" in text for text in texts))
    assert split >= {1, 2}  # a break before, in and after the table


def test_a_head_is_not_left_alone_by_a_row_higher_than_a_page():
    story = " ".join(f"word{number}" for number in range(3000))
    table = Table("Contents", COLUMNS, (("FIRST", story, "1"), ("SECOND", story, "2")))
    for count in range(0, 50, 7):
        texts = page_texts(draw_document(document(Notes("", tuple(f"line {number}" for number in range(count))), table)))
        assert all("word" in text for text in texts if "What it is" in text), count


def test_a_print_shrinks_only_to_fit_on_one_page():
    def pages(count, **fields):
        return page_texts(draw_document(document(Table("Contents", COLUMNS, rows(count)), **fields)))

    assert [len(pages(count)) for count in (20, 45, 200)] == [1, 2, 5]
    assert [len(pages(count, least_scale=0.8)) for count in (20, 45, 200)] == [1, 1, 5]
    [text] = pages(45, least_scale=0.8)
    assert "L0044" in text and "page 1 of 1" in text


def test_the_words_of_the_foot_are_those_of_the_document():
    foot = document(made="gedruckt 2. Mai", page_words="Seite %(number)s von %(count)s")
    text = " ".join(page_texts(draw_document(foot)))
    assert "Seite 1 von 1" in text and "gedruckt 2. Mai" in text


def test_each_copy_is_a_complete_set_with_its_own_page_count():
    texts = page_texts(
        draw_document(document(Table("Contents", COLUMNS, rows(60)), copies=("FOR INSIDE THE BOX", "FOR THE OUTSIDE OF THE BOX")))
    )
    assert len(texts) == 4
    assert ["FOR INSIDE THE BOX" in text for text in texts] == [True, True, False, False]
    assert ["FOR THE OUTSIDE OF THE BOX" in text for text in texts] == [False, False, True, True]
    assert ["page 1 of 2" in text for text in texts] == [True, False, True, False]


def test_every_kind_of_part_is_printed_in_its_order():
    text = " ".join(
        page_texts(
            draw_document(
                document(
                    Alert("IDENTITY IN QUESTION", ("why it is",)), Banner("KEEP 1–4 °C"), Facts((("To", "Falls Farm"), ("From", ""))),
                    Table("Contents", COLUMNS, (), empty="No lot yet."), Notes("Cautions", ("Count on arrival.",)), ByHand(("Packed by",)),
                )
            )
        )
    )  # fmt: skip
    words = ["IDENTITY IN QUESTION", "why it is", "KEEP 1–4 °C", "To", "Falls Farm", "From", "not recorded", "Contents", "No lot yet.",
             "Cautions", "Count on arrival.", "Packed by"]  # fmt: skip
    places = [text.index(word) for word in words]
    assert places == sorted(places)


@pytest.mark.parametrize("columns", [1, 2])
def test_facts_in_one_or_two_columns_lose_none(columns):
    facts = Facts(tuple((f"Label {number}", f"value {number}") for number in range(7)), columns=columns)
    content = draw_document(document(facts))
    text = " ".join(page_texts(content))
    assert all(f"value {number}" in text for number in range(7))
    assert overprints(content) == []


@pytest.mark.parametrize("page", ["letter", "a4"])
def test_nothing_is_printed_near_the_edge_of_the_page(page):
    long = "Übermäßig lang " * 40 + "W" * 120
    parts = (
        Alert(long, (long,)),
        Banner(long),
        Facts(((long, long), ("x", "W" * 400))),
        Table(long, COLUMNS, ((long, long, long),) * 2),
        Notes(long, (long,)),
    )
    content = draw_document(document(*parts, title=long, subtitle=long, code="W" * 40), page)
    for picture in pictures(content, dpi=72):
        dark = picture.point(lambda value: 255 if value < 128 else 0).getbbox()
        width, height = picture.size
        assert dark[0] > 20 and dark[1] > 20 and dark[2] < width - 20 and dark[3] < height - 20
    assert overprints(content) == []
    assert "".join(page_texts(content)).replace("\n", "").count("W") >= 700


def test_a_row_higher_than_a_page_is_carried_on():
    story = " ".join(f"word{number}" for number in range(3000))
    content = draw_document(document(Table("Contents", COLUMNS, (("L1", story, "1"), ("L2", "after", "2")))))
    text = " ".join(page_texts(content))
    assert len(page_texts(content)) > 3
    assert all(f"word{number}" in text for number in (0, 1499, 2999)) and "after" in text


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(*[st.text(max_size=120)] * 3), max_size=40))
def test_pages_are_drawn_whatever_a_table_holds(cells):
    texts = page_texts(draw_document(document(Table("Contents", COLUMNS, tuple(cells), empty="none"))))
    assert [f"page {number} of {len(texts)}" in text for number, text in enumerate(texts, start=1)] == [True] * len(texts)


def test_only_the_shipped_faces_are_used_and_all_are_in_the_file():
    reader = pypdf.PdfReader(io.BytesIO(draw_document(document(Facts((("a", "Łódź"),)), Table("t", COLUMNS, rows(2))))))
    fonts = {name: font.get_object() for page in reader.pages for name, font in page["/Resources"]["/Font"].items()}
    assert fonts
    for font in fonts.values():
        assert "DejaVu" in font["/BaseFont"] and "/FontFile2" in font["/FontDescriptor"]


def test_the_qr_code_is_on_the_first_page_of_each_copy():
    content = draw_document(document(Table("Contents", COLUMNS, rows(60)), copies=("IN", "OUT")))
    assert [codes(picture) for picture in pictures(content)] == [["SH-1"], [], ["SH-1"], []]


def test_a_print_without_a_code_has_no_square_code():
    assert [codes(picture) for picture in pictures(draw_document(document(code="", scan=())))] == [[]]


def test_the_same_print_gives_the_same_bytes():
    parts = (Table("Contents", COLUMNS, rows(5)),)
    assert draw_document(document(*parts)) == draw_document(document(*parts))


def test_a_map_puts_its_words_beside_its_places_and_prints_its_key():
    """Read back with pypdf: the words of two places are as far apart as the places are on the map."""
    part = Map(
        "Where",
        (((-74.0, 43.0), (-74.0, 46.0)),),
        ((-73.0, 44.0, "1"), (-74.5, 45.0, "2"), (-74.5, 45.0, "3")),
        ("1 Mill wood",),
        "North is up.",
    )
    content = draw_document(document(part))
    text = " ".join(page_texts(content)[0].split())
    for words in ("Where", "2, 3", "1 Mill wood", "North is up.", "50 km"):
        assert words in text, words
    at = {}

    def see(words, cm, tm, _font, _size):
        if words.strip() in ("1", "2, 3"):
            at[words.strip()] = (cm[4] + tm[4], cm[5] + tm[5])

    pypdf.PdfReader(io.BytesIO(content)).pages[0].extract_text(visitor_text=see)
    view = map_view([(-73.0, 44.0), (-74.5, 45.0)], 692, 356)  # units of the picture
    one, two = view.at(-73.0, 44.0), view.at(-74.5, 45.0)
    apart = [at["1"][n] - at["2, 3"][n] for n in (0, 1)]
    assert apart == pytest.approx([one[n] - two[n] for n in (0, 1)], abs=0.2)


@pytest.mark.parametrize("places", [[(-73.2, 44.5)], [(-90.7, 43.6), (-72.2, 43.8)], [(179.0, -20.0), (178.0, -17.0)]])
def test_a_map_shows_all_its_places_within_its_box(places):
    view = map_view(places, 500, 270)
    for lon, lat in places:
        x, y = view.at(lon, lat)
        assert 20 < x < 480 and 20 < y < 250
    west, south, east, north = view.box
    middle = math.radians((south + north) / 2)
    # a degree of latitude is as long on paper as 1 / cos(latitude) degrees of longitude (from memory)
    assert (east - west) / 500 * math.cos(middle) == pytest.approx((north - south) / 270, rel=0.02)
