"""What 0001 to 0010 make of an empty database, in a quarter of the time. A database that has run some of those goes on with them."""

import django.db.models.deletion
import django.db.models.expressions
import functools
import plantings.choices
import plantings.models.measured_columns
from django.conf import settings
from django.db import migrations, models

from registry.models.append_only import finish_tables, protect_again


APPEND_ONLY = (
    "observation",
    "plotcount",
    "review",
)


class Migration(migrations.Migration):
    replaces = [
        ("plantings", "0001_records"),
        ("plantings", "0002_append_only"),
        ("plantings", "0003_flowering"),
        ("plantings", "0004_complete_rounds"),
        ("plantings", "0006_append_only_replace"),
        ("plantings", "0007_places_and_people"),
        ("plantings", "0009_round_links"),
        ("plantings", "0010_reviews"),
    ]

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("registry", "0001_to_0019"),
    ]

    operations = [
        migrations.CreateModel(
            name="BoundaryLayer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(choices=plantings.choices.layer_kinds, default="jurisdiction", max_length=12)),
                ("name", models.CharField(max_length=80, unique=True)),
                ("code_column", models.CharField(max_length=60)),
                ("name_column", models.CharField(blank=True, max_length=60)),
                ("source", models.CharField(max_length=200)),
                ("file", models.FileField(upload_to="boundaries/")),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("partner", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="sites", to="registry.partner")),
                ("longitude", models.FloatField(blank=True, null=True)),
                ("latitude", models.FloatField(blank=True, null=True)),
                ("boundary", models.JSONField(blank=True, editable=False, null=True)),
                ("area_m2", models.FloatField(blank=True, editable=False, null=True)),
                ("jurisdiction", models.CharField(blank=True, editable=False, max_length=10, verbose_name="jurisdiction (ISO 3166-2)")),
                ("jurisdiction_basis", models.CharField(blank=True, editable=False, max_length=160)),
                ("county", models.CharField(blank=True, editable=False, max_length=60)),
                ("county_basis", models.CharField(blank=True, editable=False, max_length=160)),
                (
                    "near",
                    models.JSONField(blank=True, default=list, editable=False, verbose_name="too near to tell apart (place patterns)"),
                ),
                ("areas", models.JSONField(blank=True, default=list, editable=False, verbose_name="areas of added layers it lies in")),
                ("elevation_m", models.FloatField(blank=True, null=True)),
                ("light", models.CharField(blank=True, max_length=120)),
                ("soil", models.CharField(blank=True, max_length=120)),
                ("disease_history", models.TextField(blank=True)),
                ("protection", models.TextField(blank=True)),
                ("access_notes", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                ("status", models.CharField(choices=plantings.choices.site_statuses, default="active", max_length=10)),
                ("status_reason", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("latitude__isnull", True), ("longitude__isnull", True)),
                            models.Q(
                                ("latitude__gte", -90),
                                ("latitude__isnull", False),
                                ("latitude__lte", 90),
                                ("longitude__gte", -180),
                                ("longitude__isnull", False),
                                ("longitude__lte", 180),
                            ),
                            _connector="OR",
                        ),
                        name="site_point_on_earth",
                        violation_error_message="Give both longitude (−180 to 180) and latitude (−90 to 90), or neither.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("status", "closed"), _negated=True), models.Q(("status_reason", ""), _negated=True), _connector="OR"
                        ),
                        name="site_closed_has_reason",
                        violation_error_message="Say why the site is closed. A closed site stays in every table.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Planting",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("site", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="plantings", to="plantings.site")),
                ("planted_on", models.DateField(blank=True, null=True)),
                ("state", models.CharField(choices=plantings.choices.planting_states, default="planned", max_length=12)),
                ("supply", models.CharField(choices=plantings.choices.supplies, default="shipment", max_length=15)),
                ("stock_type", models.CharField(blank=True, max_length=60)),
                ("design", models.CharField(blank=True, max_length=160)),
                ("spacing_m", models.FloatField(blank=True, null=True)),
                ("start_corner", models.CharField(blank=True, max_length=80)),
                (
                    "walk",
                    models.CharField(choices=plantings.choices.walk_orders, default="serpentine", max_length=12, verbose_name="walk order"),
                ),
                ("done_by", models.JSONField(blank=True, default=list, verbose_name="who plants")),
                ("note", models.TextField(blank=True)),
                ("crew", models.ManyToManyField(blank=True, related_name="plantings", to=settings.AUTH_USER_MODEL)),
                ("authorizations", models.ManyToManyField(blank=True, related_name="plantings", to="registry.authorization")),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("state", "planned"), ("planted_on__isnull", False), _connector="OR"),
                        name="planting_established_has_date",
                        violation_error_message="An established planting needs the date it was planted.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("spacing_m__isnull", True), ("spacing_m__gt", 0), _connector="OR"),
                        name="planting_spacing_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Block",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "planting",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="blocks", to="plantings.planting"),
                ),
                ("code", models.CharField(max_length=40)),
                ("longitude", models.FloatField(blank=True, null=True)),
                ("latitude", models.FloatField(blank=True, null=True)),
            ],
            options={
                "ordering": ["planting", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("planting", "code"), name="block_code_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("latitude__isnull", True), ("longitude__isnull", True)),
                            models.Q(
                                ("latitude__gte", -90),
                                ("latitude__isnull", False),
                                ("latitude__lte", 90),
                                ("longitude__gte", -180),
                                ("longitude__isnull", False),
                                ("longitude__lte", 180),
                            ),
                            _connector="OR",
                        ),
                        name="block_point_on_earth",
                        violation_error_message="Give both longitude (−180 to 180) and latitude (−90 to 90), or neither.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CensusRound",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "planting",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="rounds", to="plantings.planting"),
                ),
                ("label", models.CharField(max_length=40, verbose_name="season label")),
                ("growing_seasons", models.PositiveSmallIntegerField(verbose_name="growing seasons completed")),
                ("opens_on", models.DateField()),
                ("closes_on", models.DateField()),
                ("protocol_version", models.CharField(blank=True, max_length=40)),
            ],
            options={
                "ordering": ["planting", "opens_on"],
                "constraints": [
                    models.UniqueConstraint(fields=("planting", "label"), name="censusround_label_once"),
                    models.UniqueConstraint(fields=("planting", "opens_on"), name="censusround_opens_once"),
                    models.CheckConstraint(
                        condition=models.Q(("closes_on__gte", models.F("opens_on"))),
                        name="censusround_closes_after_opening",
                        violation_error_message="The window closes before it opens.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlantingEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "planting",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="entries", to="plantings.planting"),
                ),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="entries", to="registry.lot")),
                ("role", models.CharField(choices=plantings.choices.entry_roles, default="test", max_length=8)),
            ],
            options={
                "verbose_name_plural": "planting entries",
                "ordering": ["planting", "lot"],
                "constraints": [models.UniqueConstraint(fields=("planting", "lot", "role"), name="plantingentry_once")],
            },
        ),
        migrations.CreateModel(
            name="CauseTally",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "round",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="cause_tallies", to="plantings.censusround"
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="cause_tallies", to="plantings.plantingentry"
                    ),
                ),
                ("cause", models.CharField(blank=True, max_length=20)),
                ("trees", models.PositiveIntegerField()),
            ],
            options={
                "verbose_name_plural": "tallies of causes",
                "constraints": [models.UniqueConstraint(fields=("round", "entry", "cause"), name="causetally_once")],
            },
        ),
        migrations.CreateModel(
            name="CountedPlot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "planting",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="counted_plots", to="plantings.planting"),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="counted_plots", to="plantings.plantingentry"
                    ),
                ),
                ("code", models.CharField(max_length=40)),
                ("planted_count", models.PositiveIntegerField()),
            ],
            options={
                "ordering": ["planting", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("planting", "code"), name="countedplot_code_once"),
                    models.CheckConstraint(condition=models.Q(("planted_count__gt", 0)), name="countedplot_planted_positive"),
                ],
            },
        ),
        migrations.CreateModel(
            name="EntrySupply",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entry",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="supplies", to="plantings.plantingentry"),
                ),
                ("count", models.PositiveIntegerField()),
                (
                    "shipment_line",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="supplies",
                        to="registry.shipmentline",
                    ),
                ),
                (
                    "ledger_entry",
                    models.OneToOneField(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="supply", to="registry.ledgerentry"
                    ),
                ),
                ("before_records", models.BooleanField(default=False)),
            ],
            options={
                "verbose_name_plural": "entry supplies",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("before_records", False), ("ledger_entry__isnull", True), ("shipment_line__isnull", False)),
                            models.Q(("before_records", False), ("ledger_entry__isnull", False), ("shipment_line__isnull", True)),
                            models.Q(("before_records", True), ("ledger_entry__isnull", True), ("shipment_line__isnull", True)),
                            _connector="OR",
                        ),
                        name="entrysupply_one_source",
                    ),
                    models.CheckConstraint(condition=models.Q(("count__gt", 0)), name="entrysupply_count_positive"),
                ],
            },
        ),
        migrations.CreateModel(
            name="ReviewTally",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "round",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE, related_name="review_tally", to="plantings.censusround"
                    ),
                ),
                ("unread", models.PositiveIntegerField()),
                ("asked_back", models.PositiveIntegerField()),
            ],
            options={
                "verbose_name_plural": "tallies of reviews",
            },
        ),
        migrations.CreateModel(
            name="RoundLink",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entered_at", models.DateTimeField()),
                (
                    "entered_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("round", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="links", to="plantings.censusround")),
                ("token_sha256", models.CharField(max_length=64, unique=True)),
                ("for_whom", models.CharField(max_length=120, verbose_name="for whom")),
                ("ends_on", models.DateField(verbose_name="last day")),
                ("shows_place", models.BooleanField(default=False, verbose_name="shows the exact place and the way in")),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("opened", models.PositiveIntegerField(default=0, editable=False)),
                ("stored", models.PositiveIntegerField(default=0, editable=False)),
                ("minute_began_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("minute_requests", models.PositiveIntegerField(default=0, editable=False)),
            ],
            options={
                "ordering": ["-entered_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="RoundProgress",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "round",
                    models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="progress", to="plantings.censusround"),
                ),
                ("sown", models.BooleanField()),
                ("countable", models.PositiveIntegerField()),
                ("assessed", models.PositiveIntegerField()),
                ("unsettled", models.PositiveIntegerField()),
                ("ended", models.PositiveIntegerField()),
                ("edition", models.PositiveSmallIntegerField()),
            ],
            options={
                "verbose_name_plural": "progress of rounds",
                "constraints": [models.UniqueConstraint(fields=("round", "sown"), name="roundprogress_once")],
            },
        ),
        migrations.CreateModel(
            name="SurvivalTally",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "round",
                    models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="tallies", to="plantings.censusround"),
                ),
                (
                    "entry",
                    models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="tallies", to="plantings.plantingentry"),
                ),
                ("planted", models.PositiveIntegerField(default=0)),
                ("alive", models.PositiveIntegerField(default=0)),
                ("resprout", models.PositiveIntegerField(default=0)),
                ("dead", models.PositiveIntegerField(default=0)),
                ("presumed_dead", models.PositiveIntegerField(default=0)),
                ("not_found", models.PositiveIntegerField(default=0)),
                ("unclear", models.PositiveIntegerField(default=0)),
                ("not_located", models.PositiveIntegerField(default=0)),
                ("not_visited", models.PositiveIntegerField(default=0)),
                ("removed", models.PositiveIntegerField(default=0)),
                ("removed_excluded", models.PositiveIntegerField(default=0)),
                ("alive_then", models.PositiveIntegerField(default=0)),
                ("assessed_then", models.PositiveIntegerField(default=0)),
                ("canker_assessed", models.PositiveIntegerField(default=0)),
                ("cankered", models.PositiveIntegerField(default=0)),
            ],
            options={
                "verbose_name_plural": "survival tallies",
                "constraints": [
                    models.UniqueConstraint(fields=("round", "entry"), name="survivaltally_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "planted",
                                django.db.models.expressions.CombinedExpression(
                                    django.db.models.expressions.CombinedExpression(
                                        django.db.models.expressions.CombinedExpression(
                                            django.db.models.expressions.CombinedExpression(
                                                django.db.models.expressions.CombinedExpression(
                                                    django.db.models.expressions.CombinedExpression(
                                                        django.db.models.expressions.CombinedExpression(
                                                            django.db.models.expressions.CombinedExpression(
                                                                models.F("alive"), "+", models.F("dead")
                                                            ),
                                                            "+",
                                                            models.F("presumed_dead"),
                                                        ),
                                                        "+",
                                                        models.F("not_found"),
                                                    ),
                                                    "+",
                                                    models.F("unclear"),
                                                ),
                                                "+",
                                                models.F("not_located"),
                                            ),
                                            "+",
                                            models.F("not_visited"),
                                        ),
                                        "+",
                                        models.F("removed"),
                                    ),
                                    "+",
                                    models.F("removed_excluded"),
                                ),
                            )
                        ),
                        name="survivaltally_every_tree_once",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Tree",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("planting", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="trees", to="plantings.planting")),
                (
                    "entry",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="trees", to="plantings.plantingentry"),
                ),
                ("tag", models.CharField(max_length=40)),
                (
                    "block",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="trees", to="plantings.block"
                    ),
                ),
                ("row", models.PositiveIntegerField(blank=True, null=True)),
                ("position", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "occupant",
                    models.PositiveSmallIntegerField(default=1, editable=False, verbose_name="1 for the original, 2 for its replacement …"),
                ),
                ("walk_number", models.PositiveIntegerField(default=0, editable=False)),
                ("planted_on", models.DateField(blank=True, null=True)),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="replaced_by", to="plantings.tree"
                    ),
                ),
                ("fate", models.CharField(choices=plantings.choices.tree_fates, default="unseen", editable=False, max_length=14)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["planting", "walk_number", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("planting", "tag"), name="tree_tag_once"),
                    models.UniqueConstraint(
                        condition=models.Q(("block__isnull", False)),
                        fields=("block", "row", "position", "occupant"),
                        name="tree_position_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("block__isnull", True)),
                        fields=("planting", "row", "position", "occupant"),
                        name="tree_position_without_block_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("replaces__isnull", True), models.Q(("replaces", models.F("id")), _negated=True), _connector="OR"
                        ),
                        name="tree_not_own_replacement",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("position__isnull", True), ("row__isnull", True)),
                            models.Q(("position__isnull", False), ("row__isnull", False)),
                            _connector="OR",
                        ),
                        name="tree_position_whole",
                        violation_error_message="Give row and position together, or neither.",
                    ),
                ],
                "indexes": [models.Index(fields=["planting", "walk_number"], name="plantings_t_plantin_207de9_idx")],
            },
        ),
        migrations.CreateModel(
            name="Observation",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("uuid", models.UUIDField(editable=False, unique=True)),
                ("observed_on", models.DateField()),
                ("observer", models.CharField(blank=True, max_length=120)),
                ("note", models.TextField(blank=True)),
                (
                    "entered_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("received_at", models.DateTimeField()),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="plantings.observation",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why the earlier record is corrected")),
                (
                    "round",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="observations", to="plantings.censusround"),
                ),
                ("tree", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="observations", to="plantings.tree")),
                ("status", models.CharField(choices=plantings.choices.census_statuses, max_length=2)),
                ("cause", models.CharField(blank=True, choices=plantings.choices.causes, max_length=20)),
                ("arrived_as", models.CharField(blank=True, choices=plantings.choices.arrivals, max_length=8)),
                ("height_cm", models.FloatField(blank=True, null=True)),
                ("diameter_mm", models.FloatField(blank=True, null=True)),
                (
                    "diameter_at_cm",
                    models.FloatField(blank=True, null=True, verbose_name="height above ground where the diameter was taken (cm)"),
                ),
                ("canker_class", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "browse_class",
                    models.CharField(
                        blank=True,
                        choices=functools.partial(plantings.models.measured_columns.class_choices, *("browse_class",), **{}),
                        max_length=10,
                    ),
                ),
                ("dieback_percent", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "flowering",
                    models.CharField(
                        blank=True,
                        choices=functools.partial(plantings.models.measured_columns.class_choices, *("flowering",), **{}),
                        max_length=10,
                    ),
                ),
            ],
            options={
                "ordering": ["tree", "observed_on", "id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="observation_correction_has_reason",
                        violation_error_message="Say why the earlier record is corrected.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("status", "RM"), _negated=True), models.Q(("cause", ""), _negated=True), _connector="OR"
                        ),
                        name="observation_removal_has_reason",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("height_cm__isnull", True), models.Q(("height_cm__gte", 0), ("height_cm__lte", 6000)), _connector="OR"
                        ),
                        name="observation_height_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("diameter_mm__isnull", True), models.Q(("diameter_mm__gte", 0), ("diameter_mm__lte", 2000)), _connector="OR"
                        ),
                        name="observation_diameter_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("dieback_percent__isnull", True), ("dieback_percent__lte", 100), _connector="OR"),
                        name="observation_dieback_range",
                    ),
                ],
                "indexes": [models.Index(fields=["round", "tree"], name="plantings_o_round_i_48d146_idx")],
            },
        ),
        migrations.CreateModel(
            name="PlotCount",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("uuid", models.UUIDField(editable=False, unique=True)),
                ("observed_on", models.DateField()),
                ("observer", models.CharField(blank=True, max_length=120)),
                ("note", models.TextField(blank=True)),
                (
                    "entered_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("received_at", models.DateTimeField()),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="plantings.plotcount",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why the earlier record is corrected")),
                (
                    "round",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="plot_counts", to="plantings.censusround"),
                ),
                ("plot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="counts", to="plantings.countedplot")),
                ("alive", models.PositiveIntegerField()),
                ("dead", models.PositiveIntegerField(default=0)),
            ],
            options={
                "ordering": ["plot", "observed_on", "id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="plotcount_correction_has_reason",
                        violation_error_message="Say why the earlier record is corrected.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreeTag",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("tree", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="old_tags", to="plantings.tree")),
                ("tag", models.CharField(max_length=40)),
                ("until_on", models.DateField()),
                ("reason", models.CharField(max_length=200)),
            ],
            options={
                "ordering": ["tree", "until_on"],
            },
        ),
        migrations.CreateModel(
            name="Review",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                (
                    "observation",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="reviews", to="plantings.observation"),
                ),
                ("number", models.PositiveSmallIntegerField(verbose_name="1 for its first review, 2 for the next …")),
                ("state", models.CharField(choices=plantings.choices.review_states, max_length=10)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it was asked back or rejected")),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="plantings.review",
                    ),
                ),
            ],
            options={
                "ordering": ["observation", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("observation", "number"), name="review_number_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("number", 1), ("supersedes__isnull", True)),
                            models.Q(("number__gt", 1), ("supersedes__isnull", False)),
                            _connector="OR",
                        ),
                        name="review_follows_the_last",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("state", "accepted"), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="review_has_reason",
                    ),
                ],
            },
        ),
        migrations.RunPython(finish_tables, migrations.RunPython.noop),
        migrations.RunPython(*protect_again(*(f"plantings_{name}" for name in APPEND_ONLY))),
    ]
