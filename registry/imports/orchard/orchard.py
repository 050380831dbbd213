"""Sheets of what is known of orchard trees: status history, scales, ratings, decisions."""

import datetime
from collections import defaultdict

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.sheets.append_only_sheets import AGAIN, AppendOnlySheet, number_field
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell, DatesCell, PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, DecimalCell, NameCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.plan import CHANGED, NEW, UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import PedigreeTree, Rating, RatingScale, SelectionDecision, TreeStatusRecord
from registry.selectors.orchard.floors import floor_warnings
from registry.selectors.orchard.orchard import last_decisions
from registry.services.orchard.decisions import decision_enter
from registry.services.orchard.ratings import RatingDay, Reading, rating_correct, rating_scale_save, ratings_enter, reading_problems
from registry.services.orchard.tree_status import tree_status_set


class TreeStatusSheet(AppendOnlySheet):
    kind = "tree_status"
    title = "Status history of trees"
    about = (
        "One row for each step: standing, rogued, dead. The last step is repeated on the tree. "
        "Of two steps of one day the one entered later counts; a row that differs adds such a step."
    )
    edit_action = "status.enter"
    model = TreeStatusRecord
    key = ("tree",)
    told_apart = ("tree", "status_on")
    last_counts = True

    tree = SheetField("Tree", "tree", RecordCell(PedigreeTree), required=True, example="MB-A-012")
    status = SheetField("Status", "status", ChoiceCell(choices.tree_statuses), required=True, example="rogued")
    status_on = SheetField(
        "On (blank if the day is unknown)", "on", DateCell(), example="2019-03-12", was=("On (blank when nobody knows the day)",)
    )
    status_reason = SheetField("Reason", "reason", TextCell(), required=True, example="rated 4.25; the native check of the day 4.75")
    stump_treated = SheetField(
        "Stump treated (yes/no; blank if unknown)",
        "stump_treated",
        YesNoCell(),
        example="yes",
        was=("Stump treated (yes/no; blank when not known)",),
    )

    def stored_records(self):
        return super().stored_records().select_related("tree")

    def key_words(self, item):
        return f"{super().key_words(item)} and day"

    def check_items(self, plan):
        super().check_items(plan)
        rogued = [item for item in plan.items if item.outcome != UNCHANGED and item.values.get("status") == choices.TreeStatus.ROGUED]
        decisions = last_decisions({item.values["tree"].pk for item in rogued})
        for item in rogued:
            last = decisions.get(item.values["tree"].pk, choices.Decision.ROGUED)
            if last != choices.Decision.ROGUED:
                message = (
                    f"is rogued, and the last decision of two people is “{last.label}”; load the newer one first, or the tree is listed as "
                    "rogued without a decision"
                )
                plan.warnings.append(Problem(item.row, self.header("tree"), item.values["tree"].code, message))

    def store_items(self, items, actor, reason, plan):
        # older steps first, so that the tree ends with its last one
        super().store_items(sorted(items, key=lambda item: item.values.get("status_on") or datetime.date.min), actor, reason, plan)

    def add_row(self, values, actor, reason):
        return tree_status_set(
            actor=actor, tree=values["tree"], status=values["status"], on=values.get("status_on"), reason=values["status_reason"],
            stump_treated=values.get("stump_treated"),
        )  # fmt: skip

    def correct_row(self, values, item, actor, reason):
        return self.add_row(self.merged(values, item), actor, reason)


_SCORE = DecimalCell(-999.99, 999.99, places=2)  # what a score may be at all; each scale has limits of its own


class RatingScaleSheet(Sheet):
    kind = "rating_scale"
    title = "Rating scales"
    about = "Scales of resistance scores, by name and version. A changed scale is a new version."
    edit_action = "rating.enter"
    model = RatingScale
    key = ("name", "version")

    name = SheetField("Scale", "name", TextCell(80), required=True, example="Example girdling scale")
    version = SheetField("Scale version", "version", TextCell(20), required=True, example="2017")
    disease = SheetField("Disease", "disease", TextCell(80), required=True, example="butternut canker")
    lowest = SheetField("Lowest score", "lowest", _SCORE, required=True, example=0)
    highest = SheetField("Highest score", "highest", _SCORE, required=True, example=10)
    step = SheetField("Step between scores", "step", DecimalCell(0, 99.99, places=2), required=True, example=1)
    low_means = SheetField("The lowest score means", "low_means", TextCell(160), required=True, example="no canker")
    high_means = SheetField("The highest score means", "high_means", TextCell(160), required=True, example="dead bark all round the stem")
    source = SheetField("Source", "source", TextCell(200), example="example, invented")

    def save_record(self, record, many, actor, reason):
        return rating_scale_save(actor=actor, scale=record)


class RatingSheet(AppendOnlySheet):
    kind = "rating"
    title = "Ratings of trees"
    about = (
        "One row for each tree and day. Comparable only where the native and the donor check of the orchard were rated the same day. "
        "A rating of which only the month or the year is known is compared with none. "
        "A row that differs from the records corrects that rating; the old one stays on record."
    )
    edit_action = "rating.enter"
    model = Rating
    key = ("tree", "scale_name", "scale_version", "rated_on", "method")
    told_apart = (*key, "strain")

    tree = SheetField("Tree", "tree", RecordCell(PedigreeTree), required=True, example="MB-A-012")
    scale_name = SheetField("Scale", "scale__name", TextCell(80), required=True, example="Example girdling scale")
    scale_version = SheetField("Scale version", "scale__version", TextCell(20), required=True, example="2017")
    rated_on = SheetField("Rated on", "rated_on", PartDateCell(), required=True, example="2018-05-29")
    method = SheetField("Method", "method", ChoiceCell(choices.rating_methods), required=True, example="large_stem")
    strain = SheetField("Strain of the pathogen", "strain", TextCell(60), example="example strain 1")
    inoculated_on = SheetField("Inoculated on", "inoculated_on", PartDateCell(), example="2017-06-13")
    score = SheetField("Score (on the scale)", "score", _SCORE, example=3)
    canker_length_mm = SheetField("Canker length (mm)", "canker_length_mm", NumberCell(0), example=41)
    canker_width_mm = SheetField("Canker width (mm)", "canker_width_mm", NumberCell(0), example=12)
    rater = SheetField("Rated by", "rater", TextCell(80), required=True, example="A. Rater")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().filter(superseded_by=None).select_related("tree", "scale")

    def key_part(self, name, value):
        # a strain is the same in upper and in lower case
        return value.casefold() if name == "strain" and value else super().key_part(name, value)

    def check_items(self, plan):
        super().check_items(plan)
        self.scales = {(scale.name, scale.version): scale for scale in RatingScale.objects.all()}
        for item in plan.items:
            name, version = item.values["scale_name"], item.values["scale_version"]
            if (name, version) not in self.scales:
                versions = sorted(known for scale, known in self.scales if scale == name)
                known = f"the versions on record are {', '.join(versions)}" if versions else "there is no scale of this name"
                message = f"is not a version of the scale '{name}': {known}; correct it, or load the scale first"
                self._add_problem(plan, Problem(item.row, self.header("scale_version"), version, message))
            elif item.outcome in (NEW, CHANGED):
                self._check_reading(plan, item)

    def _check_reading(self, plan, item):
        values = self.merged(item.values, item) if item.current else item.values
        if "rater" not in values:
            return  # already listed as blank
        for name, message in reading_problems(self._day(values), _reading(values)):
            self._add_problem(plan, Problem(item.row, self.header(name), str(item.values.get(name, "")), message))

    def _day(self, values):
        return RatingDay(
            self.scales[values["scale_name"], values["scale_version"]], values["rated_on"], values["method"], values["rater"],
            values.get("strain", ""), values.get("inoculated_on"),
        )  # fmt: skip

    def store_items(self, items, actor, reason, plan):
        days = defaultdict(list)
        for item in items:
            if item.current:
                self.attempt(plan, item, lambda item=item: self.correct_row(dict(item.values), item, actor, reason))
            else:
                days[self._day(item.values)].append(item)
        for day, rows in days.items():
            readings = [_reading(item.values) for item in rows]
            self.attempt(plan, rows[0], lambda day=day, readings=readings: ratings_enter(actor=actor, day=day, readings=readings))

    def correct_row(self, values, item, actor, reason):
        values = self.merged(values, item)
        return rating_correct(actor=actor, rating=item.current, day=self._day(values), reading=_reading(values), reason=reason or AGAIN)


def _reading(values):
    names = ("score", "canker_length_mm", "canker_width_mm")
    return Reading(values["tree"], *(values.get(name) for name in names), values.get("note", ""))


class SelectionDecisionSheet(AppendOnlySheet):
    kind = "decision"
    title = "Selection decisions"
    about = (
        "Kept, to be rogued or held: on what evidence, by which two people. A decision to rogue is loaded before the status history "
        "that carries it out."
    )
    edit_action = "decision.enter"
    model = SelectionDecision
    key = ("tree", "decided_on", "decision")
    told_apart = key
    changed_words = "A decision does not change once it is entered. Enter a new one with its own day."

    tree = SheetField("Tree", "tree", RecordCell(PedigreeTree), required=True, example="MB-A-012")
    decided_on = SheetField("Decided on", "decided_on", DateCell(), required=True, example="2018-11-20")
    decision = SheetField("Decision", "decision", ChoiceCell(choices.decisions), required=True, example="kept")
    nth = number_field()
    evidence = SheetField("Evidence", "evidence", TextCell(), required=True, example="scored below the F1 check; straight stem")
    method = SheetField("Method", "method", TextCell(160), example="rank within family")
    ratings = SheetField(
        "Based on the ratings of (dates)", "ratings", DatesCell(), example="2018-05-29", was=("Rests on the ratings of (dates)",)
    )
    first_name = SheetField("Decided by", "first_name", NameCell(80), required=True, example="A. Manager")
    second_name = SheetField("Agreed by", "second_name", NameCell(80), required=True, example="B. Lead")
    warnings_answer = SheetField(
        "Reason for going ahead despite broken floors",
        "warnings_answer",
        TextCell(300),
        example="",
        was=("Why it stands in spite of broken floors",),
    )

    def stored_records(self):
        return super().stored_records().select_related("tree").prefetch_related("ratings")

    def current_value(self, record, name, field):
        if name == "ratings":
            return sorted({rating.rated_on for rating in record.ratings.all()}) or None
        if name == "warnings_answer" and not record.warnings:
            return _ANY
        return super().current_value(record, name, field)

    def differences(self, before, after):
        # where no floor was broken, there was nothing to answer
        return [name for name in super().differences(before, after) if before.get(name) is not _ANY]

    def dehydrate_ratings(self, record):
        return self.fields["ratings"].widget.render(self.current_value(record, "ratings", self.fields["ratings"]))

    def store_items(self, items, actor, reason, plan):
        self.plan_notes = plan.notes
        # a floor is broken or not by what was decided before
        super().store_items(sorted(items, key=lambda item: (item.values["decided_on"], item.row)), actor, reason, plan)

    def add_row(self, values, actor, reason):
        tree = values["tree"]
        ratings = self._ratings_of(tree, values.pop("ratings", ()))
        broken = floor_warnings(tree) if values["decision"] == choices.Decision.ROGUED else []
        if broken and "warnings_answer" not in values:
            message = (
                f"is blank, and roguing {tree.code} breaks a floor of diversity: {' '.join(broken)} Give the reason for going ahead anyway."
            )
            raise ValidationError({"warnings_answer": message})
        self.plan_notes += [f"{tree.code}: {words} The sheet gives the reason for going ahead anyway." for words in broken]
        return decision_enter(actor=actor, ratings=ratings, warnings_seen=broken, **values)

    @staticmethod
    def _ratings_of(tree, days):
        ratings = list(Rating.objects.filter(tree=tree, rated_on__in=days, superseded_by=None))
        missing = sorted(set(days) - {rating.rated_on for rating in ratings})
        if missing:
            shown = ", ".join(day.isoformat() for day in missing)
            raise ValidationError({"ratings": f"There is no rating of {tree.code} on {shown}. Correct the day, or load the rating first."})
        return ratings


_ANY = object()
