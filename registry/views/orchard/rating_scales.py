"""Rating scales: a scale that trees are rated on never changes; a changed one is a new version."""

from django.utils.functional import cached_property

from registry.calc.shared.screen import amount_words
from registry.forms.orchard.ratings import RatingScaleForm
from registry.models import RatingScale
from registry.selectors.duties.duty_line import Duty
from registry.services.orchard.ratings import rating_scale_save
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column, Link


class RatingScaleListView(RecordListView):
    model = RatingScale
    action = "orchard.view"
    question = "On which scales are trees rated, in which version?"
    unit = "scales"
    others = (("Ratings", "orchard.view", "rating_list"), *MATERIAL_LISTS)
    add = ("New scale or version", "rating.enter", "ratingscale_add")
    empty = ("No scales yet", "Add the scale of your protocol, with its version and what its ends mean.", None)
    columns = (
        Column("Scale", "name", url=Link("ratingscale_detail")),
        Column("Version", "version"),
        Column("Disease", "disease"),
        Column("Lowest", "lowest", "right"),
        Column("lowest means", "low_means"),
        Column("Highest", "highest", "right"),
        Column("highest means", "high_means"),
        Column("Step", "step", "right"),
        Column("Source", "source", wide=True),
    )


class RatingScaleDetailView(RecordDetailView):
    model = RatingScale
    action = "orchard.view"
    question = "What do the scores of this scale mean?"
    state = property(lambda page: amount_words(page.ratings, "ratings"))
    facts = (
        Fact("Disease", "disease"),
        Fact("Lowest score", lambda page: f"{page.object.lowest.normalize():f}: {page.object.low_means}"),
        Fact("Highest score", lambda page: f"{page.object.highest.normalize():f}: {page.object.high_means}"),
        Fact("Step", lambda page: f"{page.object.step.normalize():f}"),
        Fact("Source", "source", always=True),
    )
    actions = (
        Action("Change the scale", "ratingscale_edit", "rating.enter", when=lambda page: not page.ratings),
        Action("Add a new version", "ratingscale_add", "rating.enter", key=None),
    )

    @cached_property
    def ratings(self):
        """How many ratings use the scale."""
        return self.object.ratings.count()

    def get_due(self):
        if not self.ratings:
            return []
        return [Duty("info", "Trees are rated on this scale, so it cannot be changed. Add a changed scale as a new version.")]


class RatingScaleFormView(RecordFormView):
    model = RatingScale
    action = "rating.enter"
    form_class = RatingScaleForm
    service = rating_scale_save
    argument = "scale"
    submit_label = "Save the scale"
