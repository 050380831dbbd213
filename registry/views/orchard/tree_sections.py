"""What the page of a tree shows from the orchard: its status history, ratings and selection decisions."""

from django.urls import reverse
from django.utils.functional import cached_property

from registry.calc.shared.screen import day_words
from registry.choices import Decision, TreeStatus
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.ratings import compared_ratings
from registry.selectors.orchard.second import waits_for_second
from registry.views.orchard.decisions import decision_columns
from registry.views.orchard.rating_words import is_superseded, rating_columns
from registry.views.shared.addresses import link, yes_no
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column


class OrchardOnPage:
    """A page of a tree with what the orchard knows of it, read once and only for who may see it."""

    @cached_property
    def status_steps(self):
        return list(self.object.status_history.select_related("entered_by")) if self.may("orchard.view") else []

    @cached_property
    def decisions(self):
        return list(self.object.decisions.select_related("tree", "entered_by", "agreement")) if self.may("orchard.view") else []

    @cached_property
    def ratings(self):
        if not self.may("orchard.view"):
            return []
        return compared_ratings(self.object.ratings.select_related("tree__taxon", "scale", "superseded_by"))

    def orchard_due(self):
        if not self.may("orchard.view"):
            return []
        return [*_stump_due(self.object, self.status_steps), *_decision_due(self.user, self.object, self.decisions)]


DECIDE = Action("Decide on the tree", "pedigreetree_decide", "decision.enter")
EVIDENCE = Action("Evidence on this mother", "pedigreetree_roguing", "orchard.view")
RATE = Action("Rate the tree", "pedigreetree_rate", "rating.enter")


def _treated_words(step):
    if step.status != TreeStatus.ROGUED:
        return ""
    return "not known" if step.stump_treated is None else yes_no(step.stump_treated)


ORCHARD_SECTIONS = (
    Section(
        title="Status history",
        unit="steps",
        may="orchard.view",
        rows=lambda page: page.status_steps,
        columns=(
            Column("Since", lambda step: step.on or "day not known", kind=lambda step: "date" if step.on else None),
            Column("Status", "get_status_display", kind="state"),
            Column("Why", "reason", wide=True),
            Column("Stump treated", _treated_words),
            Column("Entered by", lambda step: str(step.entered_by) if step.entered_by else "taken over from the tree"),
        ),
    ),
    Section(
        title="Ratings",
        unit="ratings",
        may="orchard.view",
        note="A position of 0 is the mean of the native checks rated that day, 1 the mean of the donor checks. "
        "Each disease has its own number.",
        rows=lambda page: page.ratings,
        columns=rating_columns(tree_column=False),
        mark=lambda line: "soft" if is_superseded(line.rating) else "",
        missing="ratings",
        add=RATE,
    ),
    Section(
        title="Selection decisions",
        unit="decisions",
        may="orchard.view",
        rows=lambda page: page.decisions,
        columns=decision_columns(tree_column=False),
        missing="selection decisions",
        add=DECIDE,
    ),
)


def _stump_due(tree, steps):
    rogued = [step for step in steps if step.status == TreeStatus.ROGUED]
    if tree.status != TreeStatus.ROGUED or (rogued and rogued[-1].stump_treated):
        return []
    known = "was not treated" if rogued and rogued[-1].stump_treated is False else "may not have been treated: it is not recorded"
    return [Duty("odd", f"Its stump {known}. A stump that sprouts again still sheds pollen (common practice, no source).", tree.status_on)]


def _decision_due(user, tree, decisions):
    if decisions and decisions[0].decision == Decision.ROGUED and tree.status == TreeStatus.STANDING:
        if waits_for_second(decisions[0]):
            words = f"The decision of {day_words(decisions[0].decided_on)} to rogue it waits for {decisions[0].second_name} to confirm it."
            return [
                Duty(
                    "soon",
                    f"{words} Leave it standing until then.",
                    decisions[0].decided_on,
                    reverse("decision_detail", args=[decisions[0].pk]),
                )
            ]
        words = "The decision is to rogue it, and it is still standing. Set its status once it is cut."
        return [Duty("soon", words, decisions[0].decided_on, link(user, "status.enter", "pedigreetree_status", tree.pk))]
    if tree.status == TreeStatus.ROGUED and (not decisions or decisions[0].decision != Decision.ROGUED or waits_for_second(decisions[0])):
        words = f"Rogued without a decision of two people{_last_words(decisions)}. If there was one, enter it with its day."
        return [Duty("odd", words, tree.status_on, link(user, "decision.enter", "pedigreetree_decide", tree.pk))]
    return []


def _last_words(decisions):
    if not decisions:
        return ""
    if decisions[0].decision == Decision.ROGUED:
        return f": {decisions[0].second_name} has not confirmed that of {day_words(decisions[0].decided_on)}"
    return f": the last one, of {day_words(decisions[0].decided_on)}, is “{decisions[0].get_decision_display()}”"
