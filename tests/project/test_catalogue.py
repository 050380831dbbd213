"""The list of French texts: complete, compiled, with the places of each text, and in the typography of Canadian French."""

import gettext
import io
import re

import pytest
from django.core.management import CommandError, call_command

from registry.calc.shared.catalogue import Entry, mo_bytes, po_read, po_text
from registry.management.commands import words
from tests.french import CATALOGUE, entries

PLACE = re.compile(r"%\(\w+\)[sd]")
TAG = re.compile(r"<[^>]+>")
SPACE = "\N{NO-BREAK SPACE}"


def test_the_list_has_every_marked_text_translated_and_compiled():
    out = io.StringIO()
    call_command("words", check=True, stdout=out)
    assert out.getvalue() == ""
    assert len(entries()) > 600


def test_a_text_without_a_translation_is_named(monkeypatch):
    found = words.marked_texts()
    monkeypatch.setattr(words, "marked_texts", lambda: found | {("A new sentence.", "", ""): ["registry/x.py"]})
    out = io.StringIO()
    with pytest.raises(CommandError, match="manage.py words"):
        call_command("words", check=True, stdout=out)
    assert "Not translated (fr): A new sentence." in out.getvalue()


def test_marked_texts_are_found_in_scripts_and_templates():
    script = 'from x import gettext_lazy as _\na = _("One " "text")\nb = ngettext("%(n)s day", "%(n)s days", n)\nc = other("not this")'
    script += '\nd = pgettext_lazy("site", "closed")'
    assert set(words._in_python("# gettext\n" + script)) == {("One text", "", ""), ("%(n)s day", "%(n)s days", ""), ("closed", "", "site")}
    template = (
        '{% load i18n %}<p title="{% translate "It\'s so" %}">{% blocktranslate count n=n %}{{ n }} day{% plural %}{{ n }} days'
        "{% endblocktranslate %} unmarked {% translate name %}</p>"
    )
    assert set(words._in_template(template)) == {("It's so", "", ""), ("%(n)s day", "%(n)s days", "")}


def test_python_reads_back_what_is_compiled():
    listed = [
        Entry('Say "so"\nnow', translated=("Dites\n«\tainsi\t» \\",)),
        Entry("%(n)s day", "%(n)s days", ("%(n)s jour", "%(n)s jours")),
    ]
    head = "Content-Type: text/plain; charset=UTF-8\nPlural-Forms: nplurals=2; plural=(n > 1);\n"
    assert po_read(po_text(head, listed)) == (head, listed[::-1])  # sorted by place, then by text
    read = gettext.GNUTranslations(io.BytesIO(mo_bytes(head, [*listed, Entry("Not yet")])))
    assert read.gettext(listed[1].text) == listed[1].translated[0]
    assert [read.ngettext("%(n)s day", "%(n)s days", n) for n in (0, 1, 2)] == ["%(n)s jour", "%(n)s jour", "%(n)s jours"]
    assert read.gettext("Not yet") == "Not yet"


def test_a_text_has_a_translation_of_its_own_where_its_context_differs():
    listed = [Entry("closed", translated=("fermée",)), Entry("closed", translated=("fermé",), context="site")]
    head = "Content-Type: text/plain; charset=UTF-8\n"
    assert po_read(po_text(head, listed[::-1])) == (head, listed)
    read = gettext.GNUTranslations(io.BytesIO(mo_bytes(head, listed)))
    assert (read.gettext("closed"), read.pgettext("site", "closed")) == ("fermée", "fermé")


def test_a_translation_has_the_places_and_tags_of_its_text():
    for entry in entries():
        wanted = set(PLACE.findall(entry.text + entry.plural)), TAG.findall(entry.text)
        for text in entry.translated:
            assert (set(PLACE.findall(text)), TAG.findall(text)) == wanted, entry.text


def typography(text):
    """The faults of a French text: a no-break space before a colon, a percent sign or a unit and inside quotes, none before ; ? ! …, and the
    curved apostrophe."""
    plain = TAG.sub("", text)
    return [
        *re.findall(rf"(?<!{SPACE}):(?!//)", plain),
        *re.findall(rf"[ {SPACE}][;?!]|[ {SPACE}]…(?! )", plain),
        *re.findall(r" %(?![(s])|\d (?:Mio|cm|mm|m|°C)\b", plain),
        *re.findall(rf"«(?!{SPACE})|(?<!{SPACE})»", plain),
        *re.findall(r"['\"“”]| $|^ | {2}|\.\.\.", plain),
    ]


def test_the_french_follows_canadian_typography():
    assert {text: found for entry in entries() for text in entry.translated if (found := typography(text))} == {}
    assert typography("Est-ce l'arbre ? Oui: «oui»") == [":", " ?", "«", "»", "'"]
    assert typography("95 %% à 3 m, %(n)s %") == [" %", "3 m", " %"]


def test_no_two_entries_are_the_same_text():
    texts = [(entry.context, entry.text) for entry in po_read(CATALOGUE.read_text(encoding="utf-8"))[1]]
    assert len(texts) == len(set(texts))
