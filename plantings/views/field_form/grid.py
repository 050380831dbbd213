"""The grid of one page of a printed field form, which the code at its foot opens: keyed first, or a second time by another person."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext, ngettext

from plantings.forms.grid import SecondKeyingGrid
from plantings.models import FormPage, Tree
from plantings.selectors.field_form.keyings import keyings_of, other_records, page_trees
from plantings.selectors.field_form.pages import scans_of_page
from plantings.services.field_form.keyings import page_key, second_keying_store
from plantings.views.census.census import CensusGridView
from plantings.views.census.rounds import get_round
from registry.selectors.shared.local_words import local_day
from registry.views.shared.addresses import record_url, reverse_to


class FormPageView(CensusGridView):
    """The trees of one printed page, in its order. A page without trees says so, and leads to the first that has any, or to the plots.

    Where somebody else keyed the page it is a second keying: boxes for every tree, nothing of the first, and no census record is stored.
    So it is where nobody keyed it and every tree has a record that came another way; with ?again also where some of them have one. With
    ?rest it goes on with the trees that have no record.
    """

    def find_rows(self):
        self.form_page = get_object_or_404(self.scoped(FormPage).select_related("entered_by"), pk=self.kwargs["pk"])
        self.round = self.form_page.round = get_round(self, self.form_page.round_id)
        keyings = keyings_of(self.form_page)
        self.first, self.second = keyings.get(1), keyings.get(2)
        is_others = self.first is not None and self.first.entered_by_id != self.user.pk
        self.others = other_records(self.form_page, self.user) if not keyings and self.form_page.trees else {}
        self.may_key_again = self.second is None and (is_others or bool(self.others))
        is_whole = is_others or len(self.others) == len(self.form_page.trees) or "again" in self.request.GET
        self.is_second = self.may_key_again and is_whole and "rest" not in self.request.GET

    def get(self, request, *args, **kwargs):
        if not self.form_page.trees:
            return render(request, "plantings/field_form/page_without_trees.html", self.without_trees())
        return super().get(request, *args, **kwargs)

    def without_trees(self):
        """The page of a code whose printed page lists no tree: cautions, the plan or boxes for plots were all that was on it."""
        item = self.form_page
        first = FormPage.objects.filter(round=item.round_id, form=item.form).exclude(trees=[]).order_by("number").first()
        values = {"number": item.number, "count": item.count, "planting": self.round.planting.code, "round": self.round.label}
        answer = gettext("Page %(number)s of this field form lists no tree, so there is nothing to key from it by tree.") % values
        leads = None
        if first:
            values |= {"first": first.number, "code": first.code}
            answer = gettext("Page %(number)s of this field form lists no tree. Its trees begin on page %(first)s, %(code)s.") % values
            leads = gettext("Key page %(first)s") % values, reverse_to("formpage_key", first.pk)
        elif self.round.planting.counted_plots.exists():
            leads = gettext("Key the counts of the plots"), reverse_to("census_counts", self.round.pk)
        return {
            "title": gettext("Page %(number)s of %(count)s: %(planting)s, %(round)s") % values,
            "question": gettext("What is on this page of the field form?"),
            "page_code": item.code,
            "pages_beside": self.pages_beside(),
            "answer": answer,
            "leads": leads,
            "round_url": record_url(self.round),
        }

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
            ) if self.first else ngettext(
                "%(n)s cell differs from the records on file; the office settles it.",
                "%(n)s cells differ from the records on file; the office settles them.", number,
            )  # fmt: skip
            said.append(words % {"n": number})
        else:
            said.append(gettext("Both keyings agree.") if self.first else gettext("The page agrees with the records on file."))
        messages.success(self.request, " ".join(said))

    def get_next(self):
        if self.is_second and self.second and self.second.differing and self.may("observation.review"):
            return reverse_to("pagekeying_settle", self.second.pk)
        return super().get_next()

    def page_query(self):
        if self.is_second:
            return "again=1&" if "again" in self.request.GET else ""
        return "rest=1&" if self.may_key_again and self.first else ""

    def get_context_data(self, **kwargs):
        item = self.form_page
        values = {"number": item.number, "count": item.count, "planting": self.round.planting.code, "round": self.round.label}
        title = gettext("Key page %(number)s of %(count)s: %(planting)s, %(round)s") % values
        if self.is_second:
            title = gettext("Key page %(number)s of %(count)s a second time: %(planting)s, %(round)s") % values
            if self.first is None:
                title = gettext("Compare page %(number)s of %(count)s with the records: %(planting)s, %(round)s") % values
        page = {
            "title": title,
            "page_code": item.code,
            "pages_beside": self.pages_beside(),
            "page_note": self.page_note(),
            "scans": list(scans_of_page(self.user, item)),
            "rest_words": gettext("Key only the trees without a record") if self.is_second else "",
            "again_words": gettext("Key the whole page and compare it with them") if self.others and not self.is_second else "",
        }
        return super().get_context_data(**kwargs) | page

    def page_note(self):
        """What was keyed of this page before, said before anything is stored."""
        if self.first is None:
            return self.note_of_records()
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

    def note_of_records(self):
        """The same where nobody has keyed the page and its records came another way."""
        if self.second is not None:
            values = {"who": self.second.entered_by, "day": local_day(timezone.localdate(self.second.entered_at))}
            words = gettext("%(who)s compared this page with the records on file on %(day)s. Correct a record by its link.")
            return words % values
        if self.is_second:
            return gettext(
                "The trees of this page have records that came by phone, by a sheet or by another grid. Key the whole page without looking "
                "at those: nothing of them is shown, and the two are compared when you save."
            )
        words = ngettext(
            "%(n)s tree of this page has a record that came another way.", "%(n)s trees of this page have records that came another way.",
            len(self.others),
        )  # fmt: skip
        return words % {"n": len(self.others)} if self.others else ""

    def pages_beside(self):
        """[(words, address)] of the pages of the form before and after this one."""
        item = self.form_page
        beside = FormPage.objects.filter(round=item.round_id, form=item.form, number__in=(item.number - 1, item.number + 1))
        words = {item.number - 1: gettext("Page before"), item.number + 1: gettext("Next page")}
        return [(words[page.number], reverse_to("formpage_key", page.pk)) for page in beside]
