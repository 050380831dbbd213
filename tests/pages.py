"""A record page as one person sees it, without the client: for tests of what a page declares."""

from django.test import RequestFactory

from registry.views.shared.sections import draw_sections


def record_page(view_class, person, record):
    """The page (the view) of a record, ready to be asked for its parts."""
    request = RequestFactory().get("/")
    request.user = person
    page = view_class()
    page.setup(request, pk=record.pk)
    page.object = record
    return page


def drawn_sections(page, sections):
    """Returns ({title: rows as lists of values}, [what is not recorded yet], [labels of the actions offered in the sections])."""
    parts, missing = draw_sections(page, sections)
    rows = {part["title"]: [[cell[0] for cell in row.cells] for row in part.get("rows", ())] for part in parts}
    labels = [label for part in parts for label, _url in part.get("actions", ())]
    return rows, [words for words, _url in missing], labels
