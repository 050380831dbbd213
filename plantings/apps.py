from django.apps import AppConfig
from django.db.models.signals import post_migrate

# what a figure or a decision about a tree rests on
TREE_STATE = (
    "tag", "entry_id", "entry__lot_id", "entry__role", "block_id", "row", "position", "occupant", "planted_on", "replaces_id",
    "longitude", "latitude", "accuracy_m",
)  # fmt: skip
PLOT_STATE = ("code", "entry_id", "entry__lot_id", "entry__role", "planted_count")


class PlantingsConfig(AppConfig):
    name = "plantings"
    verbose_name = "Plantings: sites, trees, census, survival"

    def ready(self):
        from plantings.imports.sites.map_files import MAP_FILES
        from plantings.models import (
            CauseTally,
            CensusRound,
            CountedPlot,
            MeasurementWords,
            Observation,
            OwnMeasurement,
            Planting,
            PlotCount,
            Protocol,
            Review,
            ReviewTally,
            RoundLink,
            RoundProgress,
            SecondDraw,
            SecondMeasurement,
            SecondTree,
            SelfSown,
            Site,
            SurvivalTally,
            Tree,
            TreeTag,
        )
        from plantings.selectors.census.verify import check_census, check_reviews, check_withdrawn
        from plantings.selectors.gate.facts import land_of_site, lots_at_site, papers_of_lots
        from plantings.selectors.loads.census_rests import rests_on_counts, rests_on_observations, rests_on_tags
        from plantings.selectors.overview.census_lines import closing_part
        from plantings.selectors.plantings.trail_concerns import CONCERNS, plantings_of
        from plantings.selectors.reports.reports import check_reports
        from plantings.selectors.sites.places import area_on_file
        from plantings.selectors.sites.stored_files import layer_files
        from plantings.services.census.reviews import tallies_follow_reviews
        from plantings.services.census.tallies import recount_older_tallies
        from plantings.services.loads.records import (
            counts_take_back,
            observations_take_back,
            plantings_follow,
            tags_return,
            withdrawn_mark,
        )
        from plantings.services.supply import line_unplanted
        from registry.choices import JobKind, ProgrammeKey
        from registry.imports.shared.other_files import also_reads
        from registry.selectors.audit.record_states import stated_by
        from registry.selectors.audit.stored_files import files_named_by
        from registry.selectors.audit.verify import also_checked, summed_by
        from registry.selectors.loads.corrected_back import in_effect_by
        from registry.selectors.loads.resting import counted_from, hindered_by, marked_where_named_by, stays_on_file
        from registry.selectors.movements.leftovers import count_unplanted_by
        from registry.selectors.movements.site_land import find_areas_by, find_plantings_by, find_sites_by
        from registry.selectors.shared.trail_concerns import parts_read_by, trail_concerns
        from registry.services.duties.reminders import remind_of
        from registry.services.jobs.running import runs_job
        from registry.services.loads.taking_back import after_removal, marked_by, taken_back_by
        from registry.services.people.programme import after_setting

        also_reads(MAP_FILES)
        trail_concerns(CONCERNS)
        parts_read_by(plantings_of)
        files_named_by(layer_files)
        count_unplanted_by(line_unplanted)
        find_sites_by(land_of_site)
        find_areas_by(area_on_file)
        find_plantings_by(lots_at_site, papers_of_lots)
        summed_by(Observation, check_census)
        summed_by(Review, check_reviews)
        remind_of(closing_part)
        for kind in (JobKind.PERMIT_ZIP, JobKind.PERMIT_PDF):
            runs_job(kind, "permitfile.view", "plantings.views.permit_file.files.permit_file_make")
        runs_job(JobKind.SURVIVAL_REPORT, "report.issue", "plantings.views.reports.reports.report_make")
        runs_job(JobKind.BOOK_EXPORT, "book.export", "plantings.views.overview.book_export.book_make")
        runs_job(JobKind.MODEL, "survival.view", "plantings.services.survival.models.model_make")
        runs_job(JobKind.DOWNLOAD, "job.view", "registry.views.shared.long_downloads.download_make")
        runs_job(JobKind.SHEET_CHECK, "import.run", "plantings.views.sheets.long_sheets.sheet_check_make")
        runs_job(JobKind.SHEET_LOAD, "import.run", "plantings.views.sheets.long_sheets.sheet_load_make")
        runs_job(JobKind.SHEET_PROBLEMS, "import.run", "plantings.views.sheets.long_sheets.sheet_problems_make")
        also_checked(check_reports)
        also_checked(check_withdrawn)
        counted_from(SurvivalTally, RoundProgress, CauseTally, ReviewTally)
        hindered_by(Observation, rests_on_observations)
        hindered_by(PlotCount, rests_on_counts)
        in_effect_by(Observation, Observation.objects.current)
        in_effect_by(PlotCount, PlotCount.objects.current)
        hindered_by(TreeTag, rests_on_tags)
        taken_back_by(Observation, observations_take_back)
        taken_back_by(PlotCount, counts_take_back)
        for model in (OwnMeasurement, MeasurementWords, Protocol):
            stays_on_file(model, "A phone may hold it. Enter its next version, which then counts.")
        for model in (SecondDraw, SecondTree, SecondMeasurement):
            stays_on_file(model, "It is compared with the first records of its round. Correct it there.")
        stays_on_file(SelfSown, "Correct it on the page of its round.")
        marked_where_named_by(Tree, Observation)
        marked_where_named_by(CountedPlot, PlotCount)
        marked_where_named_by(CensusRound, Observation, PlotCount)
        for model in (Tree, CountedPlot, CensusRound):
            marked_by(model, withdrawn_mark)
            after_removal(model, plantings_follow)
        after_removal(TreeTag, tags_return)
        after_setting(ProgrammeKey.UNREAD_COUNT, tallies_follow_reviews)
        post_migrate.connect(recount_older_tallies, sender=self)
        stated_by(Site, ("code", "partner_id", "longitude", "latitude", "jurisdiction"))
        stated_by(Planting, ("code", "site_id", "planted_on", "trees_left_out"))
        stated_by(Tree, TREE_STATE, group="planting_id", differs="lot, tag, place or planting date")
        stated_by(CountedPlot, PLOT_STATE, group="planting_id", differs="lot, role, code or number planted")
        stated_by(CensusRound, ("planting_id", "label", "growing_seasons", "opens_on", "closes_on"))
        stated_by(RoundLink, ("round_id", "entered_by_id", "token_sha256", "ends_on", "revoked_at"), is_strict=True)
