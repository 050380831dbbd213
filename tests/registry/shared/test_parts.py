"""The drawn parts: their arithmetic and their words."""

import re
from types import SimpleNamespace

import pytest
from django import forms
from django.template import Context, Template
from django.test import RequestFactory

from registry.templatetags import parts, parts_drawing
from registry.templatetags.parts_drawing import FATES, MapTree
from registry.views.shared.tables import Column, ledger_table
from tests.places import PROJECT
from tests.style_guide.guide import guide
from tests.style_guide.samples import samples


def drawn(source, **context):
    return Template("{% load parts %}" + source).render(Context(context))


# Words


def test_an_interval_is_written_as_in_the_literature():
    # 124 of 180 alive, Wilson 95 % interval 0.618 to 0.752 (Wilson 1927, computed by hand)
    assert parts_drawing.interval_text(124 / 180, 0.618, 0.752, 180) == "0.69 (0.62–0.75), n 180"


def test_a_band_without_width_is_left_out():
    # common practice, no source: when every tree is accounted for, the band says nothing
    assert parts_drawing.band_text(0.5, 0.5) == ""
    assert parts_drawing.band_text(None, 0.5) == ""
    assert parts_drawing.band_text(0.5, 0.61) == "0.50–0.61"


def test_the_count_comes_first_below_ten_trees():
    # the programme's own definition of a survival figure: count first for n < 10
    figure = {"share": 0.8, "low": 0.5, "high": 0.9}
    few = drawn("{% survival_figure figure %}", figure=figure | {"alive": 7, "n": 9})
    ten = drawn("{% survival_figure figure %}", figure=figure | {"alive": 8, "n": 10})
    assert few.index("7 of 9") < few.index("0.80")
    assert "8 of 10" not in ten
    assert "n 10" in ten


def test_thousands_of_trees_are_set_apart_in_every_figure():
    figure = {"share": 0.8, "low": 0.78, "high": 0.82, "alive": 1424, "n": 1780}
    assert "n 1,780" in drawn("{% survival_figure figure %}", figure=figure)
    assert "n 1,780" in drawn("{% heat 0.8 n=1780 %}")
    assert parts_drawing.interval_text(0.8, 0.78, 0.82, 1780) == "0.80 (0.78–0.82), n 1,780"


@pytest.mark.parametrize(("count", "words"), [(1, "1 tree"), (3000, "3,000 trees")])
def test_a_ledger_counts_its_rows_like_every_other_count(count, words):
    page = drawn('{% include "partials/shared/_ledger.html" %}', columns=[], rows=[], count=count, unit="trees")
    assert f'<p class="ledger-count">{words}</p>' in page


def test_a_figure_without_trees_says_why_it_is_not_estimable():
    text = drawn("{% survival_figure figure %}", figure={"alive": 0, "n": 0, "share": None, "reason": "all removed"})
    assert "not estimable: all removed" in text


def test_every_fate_has_its_own_word_letters_and_mark():
    marks = {key: re.sub(r'class="glyph ink-\w+"', "", drawn("{% fate_glyph key %}", key=key)) for key in FATES}
    assert len(set(marks.values())) == len(FATES)
    assert len({fate.word for fate in FATES.values()}) == len({fate.letters for fate in FATES.values()}) == len(FATES)


def test_an_unknown_fate_is_refused_with_the_list_of_fates():
    with pytest.raises(ValueError, match="No fate is called 'lost'.*alive, resprout, dead"):
        parts_drawing.fate_of("lost")


# Places on the bar


@pytest.mark.parametrize(("share", "place"), [(0, "4.00%"), (0.5, "50.00%"), (1, "96.00%")])
def test_a_bar_leaves_four_hundredths_free_at_both_ends(share, place):
    # by hand: 4 + share × 92
    assert parts_drawing.bar_place(share) == place


@pytest.mark.parametrize("share", [-0.01, 1.01, float("nan")])
def test_a_share_outside_zero_to_one_is_refused(share):
    with pytest.raises(ValueError, match="between 0 and 1"):
        parts_drawing.bar_place(share)


def test_band_is_as_long_as_the_distance_between_its_ends():
    # by hand: (0.761 − 0.689) × 92 = 6.624
    assert parts_drawing.bar_length(0.689, 0.761) == "6.62%"
    with pytest.raises(ValueError, match="above the upper end"):
        parts_drawing.bar_length(0.8, 0.7)


def test_a_bar_describes_its_figures_in_words():
    text = drawn("{% interval_bar 0.7 0.6 0.8 0.7 0.9 'Lot <7>' 50 %}")
    assert 'aria-label="Lot &lt;7&gt;: 0.70 (0.60–0.80), n 50; band 0.70–0.90"' in text
    assert 'class="interval-band"' in text
    assert 'class="interval-band"' not in drawn("{% interval_bar 0.7 0.6 0.8 %}")


@pytest.mark.parametrize(("share", "step"), [(0, 0), (0.19, 0), (0.2, 1), (0.69, 3), (0.8, 4), (1, 4)])
def test_survival_ramp_has_five_equal_steps(share, step):
    # common practice, no source: fifths, by hand
    assert parts_drawing.heat_step(share) == step


# Position map


def tree(row, position, fate="alive", label="T", **more):
    return MapTree(row, position, fate, label, **more)


def test_map_keeps_empty_positions_between_trees():
    [grid] = parts_drawing.position_grids([tree(1, 1), tree(2, 3)])
    assert grid["positions"] == [1, 2, 3]
    assert [[cell.tree is not None for cell in cells] for _row, cells in grid["rows"]] == [[True, False, False], [False, False, True]]


def test_the_map_can_be_turned_to_face_the_crew():
    trees = [tree(1, 1), tree(2, 2)]
    [grid] = parts_drawing.position_grids(trees, start=(1, 1), row_one="bottom", position_one="right")
    assert [row for row, _cells in grid["rows"]] == [2, 1]
    assert grid["positions"] == [2, 1]
    assert grid["rows"][-1][1][-1].start
    with pytest.raises(ValueError, match="row_one is 'top' or 'bottom'"):
        parts_drawing.position_grids(trees, row_one="north")


def test_a_map_cell_shows_the_replacement_and_names_the_original():
    [grid] = parts_drawing.position_grids([tree(1, 1, "dead", "T-1"), tree(1, 1, "alive", "T-2", role="filler")])
    assert grid["rows"][0][1][0].words == "T-2, row 1, position 1, filler: alive; earlier here: T-1 dead"


def test_each_block_has_its_own_grid():
    grids = parts_drawing.position_grids([tree(1, 1, block="2"), tree(4, 4, block="1"), tree(1, 2, block="2")])
    assert [(grid["block"], grid["positions"]) for grid in grids] == [("2", [1, 2]), ("1", [4])]


def test_map_without_trees_is_drawn_without_grid():
    assert "<table" not in drawn("{% position_map trees %}", trees=[])


def test_legend_counts_each_fate_once():
    assert [(fate.key, count) for fate, count in parts_drawing.fates_shown([tree(1, 1), tree(1, 2, "dead"), tree(1, 3)])] == [
        ("alive", 2),
        ("dead", 1),
    ]


def test_map_cell_is_a_link_with_its_words():
    text = drawn("{% position_map trees %}", trees=[tree(3, 4, "not_found", "T-9", url="/trees/9/")])
    assert '<a href="/trees/9/" title="T-9, row 3, position 4, test: not found">' in text


# Codes and QR


def test_qr_is_dark_on_light_and_carries_no_style():
    text = drawn("{% qr_svg 'L24-0031' %}")
    assert 'fill="#fff"' in text and 'stroke="#000"' in text
    assert "style" not in text


def test_a_qr_code_grows_with_its_content_as_in_the_standard():
    # ISO/IEC 18004: version 1 has 21 modules and holds 14 bytes at level M, version 2 has 25 and holds 26;
    # the quiet zone is 4 modules on each side
    assert 'viewBox="0 0 29 29"' in drawn("{% qr_svg data %}", data="a" * 14)
    assert 'viewBox="0 0 33 33"' in drawn("{% qr_svg data %}", data="a" * 15)


def test_two_chips_on_a_page_have_two_ids():
    request = RequestFactory().get("/")
    text = drawn("{% code_chip 'A' data='A' %}{% code_chip 'A' data='A' %}", request=request)
    assert re.findall(r'id="([^"]+)"', text) == ["qr-1", "qr-2"]
    assert re.findall(r'popovertarget="([^"]+)"', text) == ["qr-1", "qr-2"]


def test_code_is_escaped_in_its_chip():
    assert "<b>" not in drawn("{% code_chip code data='x' %}", code="<b>")


# Forms


class Grouped(forms.Form):
    groups = [("Place", ("row", "absent"))]
    note = forms.CharField(required=False)
    row = forms.IntegerField(help_text="Counted from the start corner.")


def test_named_groups_come_first_and_no_field_is_lost():
    groups = parts.form_groups(Grouped())
    assert [(legend, [field.name for field in fields]) for legend, fields, _rarely, _open in groups] == [("Place", ["row"]), ("", ["note"])]


class Long(Grouped):
    rarely = ("note",)


@pytest.mark.parametrize(("data", "is_open"), [(None, False), ({"row": "3"}, False), ({"row": "3", "note": "dry"}, True)])
def test_boxes_left_empty_by_most_fold_away(data, is_open):
    [_place, (_legend, fields, rarely, folded_open)] = parts.form_groups(Long(data))
    assert (fields, [field.name for field in rarely], folded_open) == ([], ["note"], is_open)
    text = drawn('{% include "partials/forms/_form_fields.html" %}', form=Long(data))
    assert f'<details class="rarely"{" open" if is_open else ""}><summary>More boxes: note' in text
    assert text.index('name="row"') < text.index('<details class="rarely"') < text.index('name="note"')


def test_a_fold_with_an_error_in_it_is_open():
    form = Long({"row": "3"})
    form.add_error("note", "Say more.")
    assert '<details class="rarely" open>' in drawn('{% include "partials/forms/_form_fields.html" %}', form=form)


def test_the_wide_column_is_marked_in_head_and_cells():
    table = ledger_table("Notes", (Column("Code", "code"), Column("Note", "note", wide=True)), [SimpleNamespace(code="A", note="dry")])
    text = drawn('{% include "partials/shared/_ledger.html" %}', **table)
    assert '<th scope="col" class="wide">Note</th>' in text and '<td class="wide one-line">dry</td>' in text
    assert text.count("wide") == 2


def test_field_points_at_its_help_and_its_error():
    form = Grouped({"row": "x"})
    text = drawn('{% include "partials/forms/_field.html" %}', field=form["row"])
    described = re.search(r'aria-describedby="([^"]+)"', text).group(1).split()
    assert described == ["id_row_helptext", "id_row_error"]
    assert all(f'id="{name}"' in text for name in described)


def test_a_unit_is_beside_the_box_and_in_the_label():
    form = Grouped()
    form.fields["row"].unit = "rows"
    text = drawn('{% include "partials/forms/_field.html" %}', field=form["row"])
    assert text.count("rows") == 2
    assert "placeholder" not in text


def test_error_count_is_singular_for_one():
    assert parts.error_count(Grouped({"row": "x"})) == "Please correct 1 thing."
    assert parts.error_count(SimpleNamespace(errors={"a": ["1", "2"], "b": ["3"]})) == "Please correct 3 things."


class Filters(forms.Form):
    state = forms.ChoiceField(label="that are", choices=[("", "in any state"), ("stored", "in store")], required=False)
    years = forms.MultipleChoiceField(label="of", choices=[("24", "2024"), ("25", "2025")], required=False)


def test_filters_are_described_in_the_words_of_their_lists():
    assert parts.filters_in_words(Filters({"state": "stored", "years": ["24", "25"]})) == ["that are: in store", "of: 2024, 2025"]
    assert parts.filters_in_words(Filters({"state": ""})) == []
    assert parts.filters_in_words(Filters()) == []
    assert parts.filters_in_words(None) == []


def test_a_count_has_a_thousands_separator():
    assert parts.counted(1204) == "1,204"


# The style guide


def test_every_sample_part_is_drawn():
    text, shown = guide(), samples()
    assert text.count("<tr") > len(shown["keying"]["rows"]) + 5
    assert all(step["code"] in text for step in [*shown["chain"], *shown["keying"]["rows"]])
    assert all(line["finding"].replace("'", "&#x27;") in text for line in shown["gate"]["lines"])
    assert all(step["text"].replace("'", "&#x27;") in text for step in shown["steps"])
    assert {tree.fate for tree in shown["trees"]} == set(FATES) - {"unseen"}


def test_the_style_guide_shows_every_part_the_templates_have():
    included = set(re.findall(r'"partials/\w+/_(\w+)\.html"', (PROJECT / "tests/style_guide/guide.html").read_text()))
    for name in ("sheet_head", "chain", "ledger", "filters", "gate", "duty", "caution", "steps", "keying_grid", "facts", "history",
                 "error_summary", "form_fields", "empty", "downloads"):  # fmt: skip
        assert name in included
