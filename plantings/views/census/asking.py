"""What a page asks before it stores a record, who is offered a correction, and a stored record in words."""

import hashlib

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from plantings.choices import ReviewState
from plantings.forms.census import record_words
from plantings.selectors.census.records import may_correct
from plantings.services.census.checks import odd_readings
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_day
from registry.views.shared.addresses import reverse_to

__all__ = ["AskMixin", "correction_url", "stored_words"]


def stored_words(record, own=()):
    """A stored record in one line: Alive, 12 Sep 2026, by R. Counter: A, 142 cm. For a record that was asked back, also the question.
    `own` are the programme's own measurements that it may hold."""
    values = {
        "status": record.get_status_display(), "day": local_day(record.observed_on),
        "who": record.observer or record.entered_by, "values": record_words(record, own),
    }  # fmt: skip
    words = gettext("%(status)s, %(day)s, by %(who)s: %(values)s") % values
    if getattr(record, "review_state", None) == ReviewState.ASKED_BACK:
        words = gettext("%(record)s. Asked back: %(reason)s") % {"record": words, "reason": record.review_reason}
    return words


def correction_url(user, record):
    """The address of the correction of a record or count that was read with its round, or None for someone who may not correct it."""
    return reverse_to(f"{record._meta.model_name}_correct", record.pk) if may_correct(user, record, timezone.localdate()) else None


def _value(row, name):
    return row.own_values.get(name) if name in row.own_values else getattr(row, name)


class AskMixin:
    """Asks once about readings that look odd; the same readings sent again are stored. Nothing typed is lost, nothing is blocked.

    The template sends `asked` back as a hidden box, so that other readings are asked about again.
    """

    asked = ""

    def odd_unasked(self, census_round, rows):
        """{tree pk: {field: words}} to ask about; empty once the person has saved the same readings again."""
        odd = odd_readings(census_round, rows)
        for tree, words in self.own_before(rows).items():
            odd.setdefault(tree, []).append(("status", words))
        by_tree = {row.tree_id: row for row in rows}
        return self.ask_once(odd, lambda tree, name: _value(by_tree[tree], name))

    def ask_once(self, odd, value):
        """{key: {field: words}} of odd values, {key: [(field, words)]}; empty once the same ones came back. `value` gives one by key and
        field."""
        readings = sorted((key, name, str(value(key, name))) for key, names in odd.items() for name, _words in names)
        asked = hashlib.sha256(repr(readings).encode()).hexdigest() if readings else ""
        if self.request.POST.get("asked") == asked:
            return {}
        self.asked = asked
        return {key: {name: local_text(words) for name, words in names} for key, names in odd.items()}

    def own_before(self, rows):
        """{tree pk: what to ask} of rows for trees that this person has recorded in the round before."""
        return {}

    def ask_about(self, form, row):
        """Raise what there is to ask about one row as errors of its form."""
        odd = self.odd_unasked(form.census_round, [row]).get(row.tree_id, {})
        if odd:
            raise ValidationError({name if name in form.fields else "__all__": words for name, words in odd.items()})

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"asked": self.asked}
