"""The list of a record type: filtered, paged, with downloads of exactly what is shown."""

from django.utils.translation import gettext_lazy
from django.views.generic import ListView

from registry.access.views import AccessMixin
from registry.imports.sheets.formats import export_to
from registry.selectors.identity.questions import question_path, with_question_mark
from registry.views.shared.addresses import link, reverse_to
from registry.views.shared.downloads import download_links, known_format, write_columns
from registry.views.shared.long_downloads import LongDownload
from registry.views.shared.offers import offers_response
from registry.views.shared.tables import Column, Row

_IN_QUESTION = Column(
    "Identity", lambda record: "in question" if record.in_question else "", kind=lambda record: "state" if record.in_question else "blank"
)


class RecordListView(LongDownload, AccessMixin, ListView):
    """A filtered, paged list with downloads of exactly what is shown.

    Declare `model`, `action`, `question`, `columns`; optionally
    `unit`, `title`: where they are not the name of the record type in the plural;
    `filter_form`: a form with `narrow(queryset)`;
    `related`, `order`: for `select_related` and `order_by`;
    `read`: a selector that adds to the rows what the list shows of them, `read = staticmethod(plantings_listed)`;
    `lines`: a function that makes the lines of a page of its records, where the columns are not of the records themselves;
    `row_mark`: a function of a row, the mark it is drawn with;
    `sheet`: a sheet class of `imports`, for CSV and XLSX;
    `others`: the other lists of its section, [(label, action, route)];
    `add`: (label, action, url name); `empty`: what to say of an empty list;
    `question_path`: how open questions of identity reach a row. Trees, lots, pools and shipments of the registry need none.
    """

    template_name = "generic/list.html"
    others = ()
    paginate_by = 50
    title = property(lambda page: page.model._meta.verbose_name_plural.capitalize())
    unit = property(lambda page: page.model._meta.verbose_name_plural)
    question = ""
    columns = ()
    related = order = ()
    read = lines = row_mark = None
    filter_form = sheet = None
    empty = (gettext_lazy("Nothing here yet"), "", None)
    add = None
    question_path = ""
    download_name = property(lambda page: page.sheet.kind if page.sheet else page.model._meta.model_name)
    download_title = property(lambda page: str(page.title).lower())

    def get_queryset(self):
        queryset = self.scoped(self.model)
        if hasattr(queryset, "for_list"):
            queryset = queryset.for_list()
        self.filters = self.filter_form(self.request.GET or None) if self.filter_form else None
        if self.filters is not None:
            self.limit_choices(self.filters)
            if self.filters.is_bound and self.filters.is_valid():
                queryset = self.filters.narrow(queryset)
        path = self.question_path or question_path(self.model)
        queryset = with_question_mark(queryset, path) if path and self.may("identity.view") else queryset
        queryset = self.read(queryset) if self.read else queryset
        queryset = queryset.select_related(*self.related) if self.related else queryset
        return queryset.order_by(*self.order) if self.order else queryset

    def get(self, request, *args, **kwargs):
        if "offer" in request.GET and self.filter_form:
            return offers_response(request, self.limit_choices(self.filter_form()))
        wanted = request.GET.get("download")
        if wanted:
            return self.downloaded(known_format(wanted))
        return super().get(request, *args, **kwargs)

    def download_count(self):
        records = self.get_queryset()
        return len(records) if isinstance(records, list) else records.count()

    def write_download(self, target, wanted):
        """The records in the columns of their sheet; the columns as shown where no sheet brings them in."""
        if self.sheet is not None:
            export_to(target, self.sheet, self.get_queryset(), wanted, self.user)
        else:
            columns = [column for column in self.columns if column.shown_to(self.user)]
            write_columns(target, columns, self.lines_of(self.get_queryset()), wanted)

    def lines_of(self, records):
        return self.lines(records) if self.lines else records

    def get_actions(self):
        if self.add and self.may(self.add[1]):
            return [(self.add[0], reverse_to(self.add[2]))]
        return []

    def get_columns(self, records):
        """The columns of a page; with the mark *in question* beside the code where any of its rows carries it."""
        first, *rest = self.columns
        marked = any(getattr(record, "in_question", False) for record in records)
        columns = [first, *([_IN_QUESTION] if marked else ()), *rest]
        return [column for column in columns if column.shown_to(self.user)]

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        page = context["page_obj"]
        lines = self.lines_of(page.object_list)
        columns = self.get_columns(lines)
        return context | {
            "title": self.title,
            "others": other_lists(self, self.others),
            "question": self.question,
            "columns": [(str(number), column.label, column.look) for number, column in enumerate(columns)],
            "rows": [
                Row([column.cell(line, self.user) for column in columns], self.row_mark(line) if self.row_mark else "") for line in lines
            ],
            "count": page.paginator.count,
            "unit": self.unit,
            "filters": self.filters,
            "downloads": download_links(self.request.GET),
            "actions": self.get_actions(),
            "empty": {"title": self.empty[0], "text": self.empty[1], "action": self.get_actions()[0] if self.get_actions() else None},
        }


def other_lists(view, lists):
    """The (label, url) of the other lists of a section this person may open: `lists` is [(label, action, route)]."""
    found = [(label, link(view.user, action, route)) for label, action, route in lists]
    return [(label, url) for label, url in found if url and url != view.request.path]
