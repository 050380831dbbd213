"""The grid of one page of a printed field form, which the code at its foot opens: keyed first, or a second time by another person."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext, ngettext

from plantings.forms.grid import SecondKeyingGrid
from plantings.models import FormPage, Tree
from plantings.selectors.field_form.keyings import keyings_of, page_trees
from plantings.selectors.field_form.pages import scans_of_page
from plantings.services.field_form.keyings import page_key, second_keying_store
from plantings.views.census.census import CensusGridView
from plantings.views.census.rounds import get_round
from registry.selectors.shared.local_words import local_day
from registry.views.shared.addresses import record_url, reverse_to


class FormPageView(CensusGridView):
    """The trees of one printed page, in its order. A page without trees leads to the counts of the plots, or to the round.

    Where somebody else keyed the page it is a second keying: boxes for every tree, nothing of the first, and no census record is stored.
    With ?rest it goes on with the trees that have no record.
    """

    def find_rows(self):
        self.form_page = get_object_or_404(self.scoped(FormPage).select_related("entered_by"), pk=self.kwargs["pk"])
        self.round = self.form_page.round = get_round(self, self.form_page.round_id)
        keyings = keyings_of(self.form_page)
        self.first, self.second = keyings.get(1), keyings.get(2)
        is_others = self.first is not None and self.first.entered_by_id != self.user.pk
        self.may_key_again = is_others and self.second is None
        self.is_second = self.may_key_again and "rest" not in self.request.GET

    def get(self, request, *args, **kwargs):
        if not self.form_page.trees:
            plots = self.round.planting.counted_plots.exists()
            return redirect(reverse_to("census_counts", self.round.pk) if plots else record_url(self.round))
        return super().get(request, *args, **kwargs)

    def get_page(self):
        trees = page_trees(self.form_page, self.user)
        return Paginator(trees, max(len(trees), 1)).get_page(1)

    def make_grid(self, **given):
        if self.is_second:
            return SecondKeyingGrid(self.round, self.page.object_list, self.page_tree_set(), **given)
        return super().make_grid(**given)

    def page_tree_set(self):
        return self.scoped(Tree).filter(pk__in=self.form_page.trees)

    def record(self, rows):
        if not self.is_second:
            return page_key(actor=self.user, page=self.form_page, rows=rows)
        self.second = second_keying_store(actor=self.user, page=self.form_page, rows=rows, **self.grid.head.cleaned_data)
        return len(rows)

    def store(self):
        try:
            return super().store()
        except ValidationError as error:
            self.grid.head.add_error("observed_on", error)
            return False

    def looks(self):
        return {} if self.is_second else super().looks()

    def own_before(self, rows):
        return {} if self.is_second else super().own_before(rows)

    def say_what_was_stored(self, rows, stored):
        if not self.is_second or not rows:
            super().say_what_was_stored(rows, stored)
            return
        said = [ngettext("Second keying of %(n)s tree saved.", "Second keying of %(n)s trees saved.", stored) % {"n": stored}]
        if number := self.second.differing:
            words = ngettext(
                "%(n)s cell differs from the first keying; the office settles it.",
                "%(n)s cells differ from the first keying; the office settles them.", number,
            )  # fmt: skip
            said.append(words % {"n": number})
        else:
            said.append(gettext("Both keyings agree."))
        messages.success(self.request, " ".join(said))

    def get_next(self):
        if self.is_second and self.second and self.second.differing and self.may("observation.review"):
            return reverse_to("pagekeying_settle", self.second.pk)
        return super().get_next()

    def page_query(self):
        return "rest=1&" if self.may_key_again and not self.is_second else ""

    def get_context_data(self, **kwargs):
        item = self.form_page
        values = {"number": item.number, "count": item.count, "planting": self.round.planting.code, "round": self.round.label}
        title = gettext("Key page %(number)s of %(count)s: %(planting)s, %(round)s") % values
        if self.is_second:
            title = gettext("Key page %(number)s of %(count)s a second time: %(planting)s, %(round)s") % values
        page = {
            "title": title,
            "page_code": item.code,
            "pages_beside": self.pages_beside(),
            "page_note": self.page_note(),
            "scans": list(scans_of_page(self.user, item)),
            "rest_words": gettext("Key only the trees without a record") if self.is_second else "",
        }
        return super().get_context_data(**kwargs) | page

    def page_note(self):
        """What was keyed of this page before, said before anything is stored."""
        if self.first is None:
            return ""
        values = {"day": local_day(timezone.localdate(self.first.entered_at)), "who": self.first.entered_by}
        if self.is_second:
            words = gettext(
                "%(who)s keyed this page on %(day)s. Key the whole page again without looking at that: nothing of it is shown, and the two "
                "are compared when you save."
            )
        elif self.second is not None:
            words = gettext("Two people keyed this page. Correct a record by its link.")
        elif self.first.entered_by_id == self.user.pk:
            words = gettext(
                "You keyed this page on %(day)s. Correct a record by its link; a second keying, which finds slips, is for another person."
            )
        else:
            words = gettext("%(who)s keyed this page on %(day)s.")
        return words % values

    def pages_beside(self):
        """[(words, address)] of the pages of the form before and after this one."""
        item = self.form_page
        beside = FormPage.objects.filter(round=item.round_id, form=item.form, number__in=(item.number - 1, item.number + 1))
        words = {item.number - 1: gettext("Page before"), item.number + 1: gettext("Next page")}
        return [(words[page.number], reverse_to("formpage_key", page.pk)) for page in beside]
