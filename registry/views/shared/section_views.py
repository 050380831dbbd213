"""What the lists and pages of the registry share beside the generic screens."""

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.functional import cached_property

from registry.views.shared.generic import RecordFormView, RecordListView

PART_ROWS_MAX = 100


def link(user, action, route, *args):
    """The address of a page, or None for somebody who may not open it."""
    return reverse(route, args=args) if user.may(action) else None


def allowed(user, *actions):
    """The (label, url) pairs of the (label, action, url) triples this person may do."""
    return [(label, url) for label, action, url in actions if user.may(action)]


def yes_no(value):
    return "yes" if value else "no"


def other_lists(view, lists):
    """The (label, url) of the other lists of a section this person may open: `lists` is [(label, action, route)]."""
    found = [(label, link(view.user, action, route)) for label, action, route in lists]
    return [(label, url) for label, url in found if url and url != view.request.path]


class SectionListView(RecordListView):
    """A list with links to the other lists of its section: `others` is [(label, action, route)]."""

    template_name = "registry/shared/record_list.html"
    others = ()

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"others": other_lists(self, self.others)}


class SectionFormView(RecordFormView):
    """A form that names what it changes and leads back to it."""

    @cached_property
    def record(self):
        """The record as it is stored, whatever the form has written into its own copy; None for a new one."""
        return get_object_or_404(self.scoped(self.model), pk=self.kwargs["pk"]) if "pk" in self.kwargs else None

    def get_title(self):
        return f"Change {self.record}" if self.record else super().get_title()

    def get_cancel_url(self):
        if self.record:
            return reverse(f"{self.route_name()}_detail", args=[self.record.pk])
        return reverse(f"{self.route_name()}_list")
