"""Drafts: DRAFT on every page, every head of the two forms in order, nothing claimed, nothing made up."""

import datetime
import io

import numpy as np
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.prints.drafts import DRAFT, FOR_AUTHORITY, NOT_RECORDED, health_draft, highest_category, identity_draft
from registry.prints.pages import draw_document
from tests.prints.reading import codes, overprints, page_texts, pictures

DAY = datetime.date(2026, 11, 25)
HEAD = {
    "title": "Draft data, BT-1",
    "code": "BT-1",
    "scan": ("https://mastbook.example.org/find/?q=BT-1",),
    "made_on": DAY,
    "made": "made today",
}
PAGES = pytest.mark.parametrize("page", ["letter", "a4"])

# OECD Forest Seed and Plant Scheme, Decision C(2007)69 as amended; certificate of identity for seed orchards and families, the same
# heads as Annex VIII B of Directive 1999/105/EC: from memory. Words of each head, in the order of the form.
IDENTITY_ORDER = (
    "Certificate no.", "Botanical name", "Nature of the material", "Category", "Type of basic material", "Purpose", "Register reference",
    "Autochthonous or indigenous status", "Origin, if introduced", "Country and region of provenance", "Pollination",
    "Year in which the seed ripened", "Quantity", "Subdivision of an earlier lot", "Time in the nursery", "Number of families or clones",
    "Altitude", "Genetic modification", "Crossing design and percentage of", "Later vegetative propagation", "Other relevant information",
    "Supplier", "Authority", "Signature", "Date", "Purity", "Germination", "1,000 seeds", "Germinable seeds per kg",
)  # fmt: skip
# Model phytosanitary certificate, ISPM 12 (IPPC, 2011), Annex 1: from memory.
HEALTH_ORDER = (
    "No.", "Plant Protection Organization of", "To: Plant Protection Organization(s) of", "Name and address of exporter",
    "Declared name and address of consignee", "Number and description of packages", "Distinguishing marks", "Place of origin",
    "Declared means of conveyance", "Declared point of entry", "Name of produce and quantity declared", "Botanical name of plants",
    "Additional declaration", "Date", "Treatment", "Chemical (active ingredient)", "Duration and temperature", "Concentration",
    "Additional information", "Place of issue", "Stamp", "Name of authorized officer", "Date", "Signature",
)  # fmt: skip


def flat(content):
    return " ".join(" ".join(page_texts(content)).split())


def in_order(text, words):
    place = 0
    for word in words:
        found = text.find(word, place)
        assert found >= 0, f"{word} is missing or out of order"
        place = found + len(word)
    return True


def drafts():
    long = {"other": "a long story of the orchard " * 150}
    treatments = [{"date": "3 Oct 2026", "treatment": "hot water"}] * 6
    return {"identity": identity_draft(long, **HEAD), "health": health_draft({"produce": long["other"]}, treatments, **HEAD)}


@PAGES
@pytest.mark.parametrize("kind", ["identity", "health"])
def test_every_page_of_a_draft_says_that_it_is_one(kind, page):
    content = draw_document(drafts()[kind], page)
    texts = page_texts(content)
    assert len(texts) > 1
    for number, text in enumerate(texts, start=1):
        # the line at the head, and the word across the page
        assert DRAFT in text
        assert text.replace(DRAFT, "").count("DRAFT") == 1
        assert f"page {number} of {len(texts)}" in text
    assert "only the authority issues a certificate" in DRAFT


def test_the_word_draft_across_the_page_leaves_text_readable():
    with_mark = np.asarray(pictures(draw_document(drafts()["identity"]), dpi=72)[0])
    # a light grey over a good part of the page, behind text that stays black
    assert 0.02 < ((with_mark > 200) & (with_mark < 245)).mean() < 0.3
    assert with_mark.min() < 60


def test_the_identity_draft_follows_the_order_of_the_form():
    assert in_order(flat(draw_document(identity_draft({}, **HEAD))), IDENTITY_ORDER)


def test_the_health_draft_follows_the_order_of_the_model():
    assert in_order(flat(draw_document(health_draft({}, [], **HEAD))), HEALTH_ORDER)


def test_what_is_not_recorded_is_printed_as_such():
    rows = dict(row for part in identity_draft({}, **HEAD).parts if hasattr(part, "rows") for row in part.rows)
    assert {head for head, value in rows.items() if value} == {"Certificate no.", "Authority", "Signature", "Date"}
    assert flat(draw_document(identity_draft({}, **HEAD))).count(NOT_RECORDED) == len(IDENTITY_ORDER) - 4
    assert flat(draw_document(health_draft({}, [], **HEAD))).count(NOT_RECORDED) == len(HEALTH_ORDER) - 7


def test_no_number_seal_or_signature_is_ever_printed():
    own = dict.fromkeys(
        ("certificate_no", "authority", "signature", "date", "no", "organization", "stamp", "officer", "place", "day"), "MADE UP"
    )
    for document in (identity_draft(own, **HEAD), health_draft(own, [], **HEAD)):
        text = flat(draw_document(document))
        assert "MADE UP" not in text and FOR_AUTHORITY in text


def test_a_category_that_is_given_is_not_believed():
    text = flat(draw_document(identity_draft({"category": "tested", "basic_material": "seed orchard"}, **HEAD)))
    assert "qualified at most; the authority decides" in text
    assert "Category tested" not in text


# OECD Scheme: categories read at oecd.org; their basic material from memory. An untested orchard is at most "qualified".
@pytest.mark.parametrize(
    ("material", "category"),
    [("seed source", "source-identified"), ("stand", "source-identified"), ("seed orchard", "qualified"), ("parents of family(ies)", "qualified"),
     ("clone", "qualified"), ("clonal mixture", "qualified"), ("", ""), ("greenhouse", "")],
)  # fmt: skip
def test_the_category_that_can_be_applied_for(material, category):
    assert highest_category(material) == category


@given(st.text(max_size=30))
def test_selected_and_tested_are_never_claimed(material):
    assert highest_category(material) not in ("selected", "tested")


def test_an_identity_in_question_comes_first():
    text = flat(draw_document(identity_draft({}, questions=("MB-17: leaves of the donor",), **HEAD)))
    assert text.index("IDENTITY IN QUESTION") < text.index("MB-17: leaves of the donor") < text.index("Certificate no.")


def test_each_treatment_has_its_own_block():
    text = flat(draw_document(health_draft({}, [{"treatment": "hot water, lot A"}, {"treatment": "surface disinfection, lot B"}], **HEAD)))
    assert (
        text.index("treatment 1") < text.index("hot water, lot A") < text.index("treatment 2") < text.index("surface disinfection, lot B")
    )


@PAGES
def test_the_qr_code_of_a_draft_is_read_back(page):
    document = identity_draft({"other": "Łódź × Ø " * 90}, **HEAD)
    content = draw_document(document, page)
    assert codes(pictures(content)[0]) == ["https://mastbook.example.org/find/?q=BT-1"]
    # the watermark is meant to lie under the text
    plain = draw_document(document.__class__(**{name: getattr(document, name) for name in document.__slots__} | {"draft": ""}), page)
    assert overprints(plain) == []


def test_the_file_says_what_it_is_and_of_which_day():
    reader = pypdf.PdfReader(io.BytesIO(draw_document(identity_draft({}, **HEAD))))
    assert reader.metadata.title == "Draft data, BT-1"
    assert reader.metadata.creation_date.date() == DAY
    assert reader.root_object["/Lang"] == "en"
