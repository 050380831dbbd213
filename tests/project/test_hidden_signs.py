"""A sign that nobody sees is refused in whichever way a text comes in, with words that name the sign."""

import importlib
import pkgutil
import re

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile

import plantings.forms
import registry.forms
from plantings.calc.phone.reading import UnreadableRecord, read_cautions, read_record
from registry.calc.shared.hidden_signs import _HIDDEN, hidden_sign
from registry.imports.sheets.text import text_fault
from tests.places import PROJECT

SENT = {"uuid": "6ba7b810-9dad-41d1-80b4-00c04fd430c8", "at": 0, "tree": 1, "status": "A", "observer": "Mia", "note": "leans"}
TURNED = "Mia \u202eregdoR"


def all_forms():
    for package in (registry.forms, plantings.forms):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            importlib.import_module(found.name)
    waiting, seen = [forms.Form, forms.ModelForm], set()
    while waiting:
        one = waiting.pop()
        waiting += [other for other in one.__subclasses__() if other not in seen]
        seen.add(one)
    return [one for one in seen if one.__module__.split(".")[0] in ("registry", "plantings")]


def test_every_box_for_text_or_a_file_of_every_form_looks_for_hidden_signs():
    found = all_forms()
    assert len(found) > 100
    for form in found:
        for name, field in form.base_fields.items():
            if type(field) in (forms.CharField, forms.FileField):
                codes = {validator.__name__ for validator in field.validators if hasattr(validator, "__name__")}
                assert codes & {"_refuse_in_text", "_refuse_in_name"}, (form, name)


def test_a_box_names_the_sign_and_keeps_line_breaks_and_every_script():
    with pytest.raises(forms.ValidationError, match=r"U\+202E, after “Mia ”"):
        forms.CharField().clean(TURNED)
    with pytest.raises(forms.ValidationError, match="Rename it"):
        forms.FileField().clean(SimpleUploadedFile("map\u202egpj.exe", b"x"))
    for text in ("two\r\nlines\tand a tab", "José ☘ 山田 مریم", "👩\u200d🌾", "می\u200cخواهم"):
        assert forms.CharField().clean(text) == text and hidden_sign(text) is None


@pytest.mark.parametrize("changed", [{"observer": TURNED}, {"note": "leans\u200b"}, {"observer": "Mia\nLead"}, {"cause": "\x07"}])
def test_a_phone_gets_the_same_sentence_for_a_record(changed):
    with pytest.raises(UnreadableRecord, match=r"sign that cannot be seen \(U\+[0-9A-F]{4}, after “"):
        read_record(SENT | changed)
    assert read_record(SENT | {"note": "leans\nto the north"}).note == "leans\nto the north"


def test_cautions_read_and_cells_of_sheets_follow_the_same_rule():
    sent = {"uuid": SENT["uuid"], "at": 0, "wording": "a" * 64, "observer": TURNED}
    with pytest.raises(UnreadableRecord, match="U\\+202E"):
        read_cautions(sent)
    assert text_fault(TURNED) == "holds a sign that cannot be seen (U+202E, after “Mia ”); type it again"
    assert text_fault("two\nlines") == ""


def test_the_phone_takes_out_exactly_the_signs_that_the_server_refuses():
    script = (PROJECT / "plantings/static/plantings/js/phone/parts.js").read_text()
    listed = re.search(r"phone\.seen = function.*?replace\(/(\[.*?\])/g", script, re.DOTALL).group(1)
    taken = re.compile(listed)
    for number in range(1, 0x10000):
        assert bool(_HIDDEN.search(chr(number))) == bool(taken.search(chr(number))), f"U+{number:04X}"
