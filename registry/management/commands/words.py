"""Brings the list of translated texts in line with the source and compiles it. Needs nothing but Django: no gettext tools, no network."""

import ast
import re
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation.template import templatize

from registry.calc.shared.catalogue import Entry, mo_bytes, po_read, po_text
from registry.disk.whole_files import write_whole

PACKAGES = ("registry", "plantings")
_MARKS = {"gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy", "_", "worded", "worded_plural"}
_MARKS_WITH_CONTEXT = {"pgettext", "pgettext_lazy"}
_STRING = r"""u?('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")"""
_IN_TEMPLATE = re.compile(rf"\b(?:_|n?gettext)\({_STRING}(?:, ?{_STRING})?")


def catalogue_paths(language):
    """(the .po that people translate, the .mo that Python reads) of a language."""
    folder = Path(settings.LOCALE_PATHS[0]) / language / "LC_MESSAGES"
    return folder / "django.po", folder / "django.mo"


def marked_texts():
    """{(text, plural or "", context or ""): the files that hold it} of every text that the source marks for translation."""
    found = {}
    for package in PACKAGES:
        folder = settings.BASE_DIR / package
        for path in sorted([*folder.rglob("*.py"), *folder.rglob("*.html"), *folder.rglob("*.txt")]):
            source = path.read_text(encoding="utf-8")
            texts = _in_python(source) if path.suffix == ".py" else _in_template(source)
            for text in texts:
                places = found.setdefault(text, [])
                place = path.relative_to(settings.BASE_DIR).as_posix()
                if place not in places:
                    places.append(place)
    for key in [key for key in found if key[1] and (key[0], "", "") in found]:
        # gettext finds the singular of an entry that has a plural, and knows one entry of a text only
        found[key] += [place for place in found.pop((key[0], "", "")) if place not in found[key]]
    return found


def _in_python(source):
    for node in ast.walk(ast.parse(source)) if "gettext" in source or "worded" in source else ():
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _MARKS | _MARKS_WITH_CONTEXT:
            texts = [item.value for item in node.args[:2] if isinstance(item, ast.Constant) and isinstance(item.value, str)]
            if node.func.id in _MARKS_WITH_CONTEXT:
                yield texts[1], "", texts[0]
            elif texts:
                yield texts[0], texts[1] if len(texts) == 2 else "", ""


def _in_template(source):
    if "i18n" not in source:
        return
    for text, plural in _IN_TEMPLATE.findall(templatize(source)):
        yield ast.literal_eval(text), ast.literal_eval(plural) if plural else "", ""


def brought_up(entries, found):
    """The entries of the texts found, with the translations they had; texts no longer in the source are dropped."""
    known = {(entry.text, entry.plural, entry.context): entry.translated for entry in entries}
    return [
        Entry(text, plural, known.get((text, plural, context), ("", "") if plural else ("",)), tuple(places), context)
        for (text, plural, context), places in found.items()
    ]


class Command(BaseCommand):
    help = "Brings the list of translated texts (registry/locale) in line with the source, compiles it, and names what is not translated."

    def add_arguments(self, parser):
        parser.add_argument("--check", action="store_true", help="write nothing; fail where the list is not as it should be")

    def handle(self, *, check, **options):
        found, wrong = marked_texts(), 0
        for language, _name in settings.LANGUAGES:
            source, compiled = catalogue_paths(language)
            if not source.exists():
                continue  # the language of the source itself
            head, entries = po_read(source.read_text(encoding="utf-8"))
            entries = brought_up(entries, found)
            made = {source: po_text(head, entries).encode(), compiled: mo_bytes(head, entries)}
            for path, content in made.items():
                if not path.exists() or path.read_bytes() != content:
                    wrong += check
                    self.stdout.write(f"{path.relative_to(settings.BASE_DIR)} is {'out of date' if check else 'written'}.")
                    if not check:
                        write_whole(path, [content])
            for entry in entries:
                if not entry.is_translated:
                    wrong += check
                    self.stdout.write(f"Not translated ({language}): {entry.text}")
        if wrong:
            raise CommandError("Run manage.py words, and translate what it names in registry/locale.")
