"""Which census records are on file, and which of them are results."""

from django.apps import apps
from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, Q, Subquery

from plantings.choices import Arrival, ReviewState
from registry.choices import NO, ProgrammeKey
from registry.models import ProgrammeSetting
from registry.models.append_only import AppendOnlyQuerySet


class CurrentQuerySet(AppendOnlyQuerySet):
    def current(self):
        """Without those a later record superseded."""
        return self.filter(superseded_by__isnull=True)


class ReviewedQuerySet(CurrentQuerySet):
    """Which census records are on file, and which of them count: every selector starts here.

    Declare `reviews`, the model of their reviews, `reviewed`, its column that names the record, and `planted`, the column that names what
    the record is about.
    """

    reviews = reviewed = planted = ""

    def unsuperseded(self):
        """Without those a later record superseded; rejected ones are among them."""
        return super().current()

    def current(self):
        """Neither superseded nor rejected: a position without one is open."""
        return self.unsuperseded().filter(~self._reviewed(ReviewState.REJECTED))

    def counting(self):
        """Those that results are made from: current, and reviewed where the programme wants that first."""
        return self.unsuperseded().eligible()

    def eligible(self):
        """Those that count unless a later record superseded them."""
        return self.filter(~self._reviewed(ReviewState.REJECTED), self._may_count())

    def rejected(self):
        """Those that were rejected and that no later record superseded."""
        return self.unsuperseded().filter(self._reviewed(ReviewState.REJECTED))

    def withdrawn(self):
        """Those of a tree, plot or round that was withdrawn: rejected for good, since there is nothing left that they are about."""
        return self.filter(Q(round__planting__isnull=True) | Q(**{f"{self.planted}__planting__isnull": True}))

    def unread(self):
        """Current ones that nobody has accepted or asked back."""
        waiting = ~self._reviewed(ReviewState.ACCEPTED, ReviewState.ASKED_BACK)
        return self.current().filter(waiting, arrived_as=Arrival.RECEIVED)

    def asked_back(self):
        """Current ones that wait for an answer of the crew."""
        return self.current().filter(self._reviewed(ReviewState.ASKED_BACK))

    def with_review(self):
        """With `review_state` and `review_reason` of the last review, None without one, and `counts`: whether it is a result."""
        last = self._last_reviews()
        counts = Q(superseded_by__isnull=True) & ~self._reviewed(ReviewState.REJECTED) & self._may_count()
        return self.annotate(
            review_state=Subquery(last.values("state")[:1]),
            review_reason=Subquery(last.values("reason")[:1]),
            counts=ExpressionWrapper(counts, output_field=BooleanField()),
        )

    def _last_reviews(self):
        return apps.get_model("plantings", self.reviews).objects.standing().filter(**{self.reviewed: OuterRef("pk")})

    def _reviewed(self, *states):
        return Exists(self._last_reviews().filter(state__in=states))

    def _may_count(self):
        """Accepted, or not while the programme lets such records count too. The setting is read in the same query; the last review
        decides."""
        held_back = ProgrammeSetting.objects.filter(key=ProgrammeKey.UNREAD_COUNT, value=NO)
        accepted_before = ~Q(arrived_as=Arrival.RECEIVED) & ~self._reviewed(ReviewState.ASKED_BACK)
        return accepted_before | ~Exists(held_back) | self._reviewed(ReviewState.ACCEPTED)
