"""Rating scales: a scale trees are rated on is never changed; a changed one is a new version."""

from django.urls import reverse

from registry.calc.shared.screen import amount_words
from registry.forms.orchard.ratings import RatingScaleForm
from registry.models import RatingScale
from registry.selectors.duties.duty_line import Duty
from registry.services.orchard.ratings import rating_scale_save
from registry.views.orchard.rating_words import scale_url
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.generic import RecordDetailView
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed
from registry.views.shared.tables import Column


class RatingScaleListView(SectionListView):
    model = RatingScale
    action = "orchard.view"
    title = "Rating scales"
    question = "On which scales are trees rated, in which version?"
    unit = "scales"
    others = (("Ratings", "orchard.view", "rating_list"), *MATERIAL_LISTS)
    add = ("New scale or version", "rating.enter", "ratingscale_add")
    empty = ("No scale yet", "Add the scale of your protocol, with its version and what its ends mean.", None)
    columns = (
        Column("Scale", "name", url=scale_url),
        Column("Version", "version"),
        Column("Disease", "disease"),
        Column("Lowest", "lowest", "right"),
        Column("lowest means", "low_means"),
        Column("Highest", "highest", "right"),
        Column("highest means", "high_means"),
        Column("Step", "step", "right"),
        Column("Source", "source"),
    )


class RatingScaleDetailView(RecordDetailView):
    model = RatingScale
    action = "orchard.view"
    question = "What do the scores of this scale mean?"

    def get_page(self):
        scale = self.object
        used = scale.ratings.count()
        state = [("Change the scale", "rating.enter", reverse("ratingscale_edit", args=[scale.pk]))] if not used else []
        return {
            "state": amount_words(used, "ratings"),
            "facts": [
                ("Disease", scale.disease, None),
                ("Lowest score", f"{scale.lowest.normalize():f}: {scale.low_means}", None),
                ("Highest score", f"{scale.highest.normalize():f}: {scale.high_means}", None),
                ("Step", f"{scale.step.normalize():f}", None),
                ("Source", scale.source, None),
            ],
            "due": [Duty("info", "Trees are rated on it, so it cannot be changed. A changed scale is a new version.")] if used else [],
            "actions": allowed(self.request.user, *state, ("Add a new version", "rating.enter", reverse("ratingscale_add"))),
        }


class RatingScaleFormView(SectionFormView):
    model = RatingScale
    action = "rating.enter"
    form_class = RatingScaleForm
    submit_label = "Save the scale"

    def save(self, record, many, form):
        return rating_scale_save(actor=self.request.user, scale=record)
