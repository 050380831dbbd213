import django.db.models.deletion
import django.db.models.expressions
from django.conf import settings
from django.db import migrations, models

import registry.choices


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0002_append_only"),
    ]

    operations = [
        migrations.CreateModel(
            name="Harvest",
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
                    "entry",
                    models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name="harvest", to="registry.ledgerentry"),
                ),
                ("picker", models.CharField(max_length=80)),
                ("fruits", models.PositiveIntegerField(blank=True, null=True, verbose_name="fruits or burs picked")),
                ("containers", models.PositiveSmallIntegerField(default=1)),
                ("labels_inside_and_outside", models.BooleanField(default=False, verbose_name="labels inside and outside every container")),
                ("holder", models.CharField(blank=True, max_length=120, verbose_name="who holds it")),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="IdentityEvidence",
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
                    "tree",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="identity_evidence",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="identity_evidence",
                        to="registry.lot",
                    ),
                ),
                (
                    "pool",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="identity_evidence",
                        to="registry.pollenpool",
                    ),
                ),
                ("kind", models.CharField(choices=registry.choices.evidence_kinds, max_length=10)),
                ("outcome", models.CharField(choices=registry.choices.evidence_outcomes, max_length=12)),
                ("on", models.DateField()),
                ("by", models.CharField(max_length=80)),
                ("text", models.TextField(verbose_name="what was seen")),
                ("reference", models.CharField(blank=True, max_length=80, verbose_name="sample or report number")),
            ],
            options={
                "verbose_name_plural": "identity evidence",
                "ordering": ["-on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lot__isnull", True), ("pool__isnull", True), ("tree__isnull", False)),
                            models.Q(("lot__isnull", False), ("pool__isnull", True), ("tree__isnull", True)),
                            models.Q(("lot__isnull", True), ("pool__isnull", False), ("tree__isnull", True)),
                            _connector="OR",
                        ),
                        name="identityevidence_one_record",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="IdentityQuestion",
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
                    "tree",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="own_questions",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="own_questions", to="registry.lot"
                    ),
                ),
                (
                    "pool",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="own_questions",
                        to="registry.pollenpool",
                    ),
                ),
                ("raised_on", models.DateField()),
                ("reason", models.TextField()),
                ("settled_on", models.DateField(blank=True, null=True)),
                (
                    "settled_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("settlement", models.CharField(blank=True, choices=registry.choices.settlements, max_length=10)),
                ("settlement_text", models.TextField(blank=True, verbose_name="how it was settled")),
                ("trees", models.ManyToManyField(blank=True, related_name="questions", to="registry.pedigreetree")),
                ("lots", models.ManyToManyField(blank=True, related_name="questions", to="registry.lot")),
            ],
            options={
                "ordering": ["settled_on", "-raised_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lot__isnull", True), ("pool__isnull", True), ("tree__isnull", False)),
                            models.Q(("lot__isnull", False), ("pool__isnull", True), ("tree__isnull", True)),
                            models.Q(("lot__isnull", True), ("pool__isnull", False), ("tree__isnull", True)),
                            _connector="OR",
                        ),
                        name="identityquestion_one_record",
                    ),
                    models.CheckConstraint(condition=models.Q(("reason", ""), _negated=True), name="identityquestion_has_reason"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("settled_on__isnull", True), ("settlement", ""), ("settlement_text", "")),
                            models.Q(
                                ("settled_on__isnull", False),
                                models.Q(("settlement", ""), _negated=True),
                                models.Q(("settlement_text", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="identityquestion_settled_whole",
                        violation_error_message="A settlement has its day, its outcome and how it was settled.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="IssuedPaper",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("kind", models.CharField(choices=registry.choices.issued_kinds, max_length=14)),
                ("title", models.CharField(max_length=160)),
                ("filename", models.CharField(max_length=160)),
                ("sha256", models.CharField(max_length=64)),
                ("size_bytes", models.PositiveIntegerField()),
                ("lots", models.ManyToManyField(blank=True, related_name="issued_papers", to="registry.lot")),
                ("shipments", models.ManyToManyField(blank=True, related_name="issued_papers", to="registry.shipment")),
                ("trees", models.ManyToManyField(blank=True, related_name="issued_papers", to="registry.pedigreetree")),
                ("authorizations", models.ManyToManyField(blank=True, related_name="issued_papers", to="registry.authorization")),
            ],
            options={
                "ordering": ["-entered_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="MeasuredShare",
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
                    "tree",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="measured_shares",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="measured_shares",
                        to="registry.lot",
                    ),
                ),
                ("donor_share", models.DecimalField(decimal_places=4, max_digits=5)),
                ("standard_error", models.DecimalField(blank=True, decimal_places=4, max_digits=5, null=True)),
                ("sample_size", models.PositiveIntegerField(default=1, verbose_name="plants genotyped")),
                ("markers", models.PositiveIntegerField(blank=True, null=True, verbose_name="markers read")),
                ("method", models.CharField(max_length=120)),
                ("sampled_on", models.DateField()),
                ("laboratory", models.CharField(blank=True, max_length=120)),
                ("reference", models.CharField(blank=True, max_length=80, verbose_name="laboratory's reference")),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["-sampled_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lot__isnull", True), ("tree__isnull", False)),
                            models.Q(("lot__isnull", False), ("tree__isnull", True)),
                            _connector="OR",
                        ),
                        name="measuredshare_tree_or_lot",
                        violation_error_message="A measured share belongs to a tree or to a lot, one of the two.",
                    ),
                    models.CheckConstraint(condition=models.Q(("donor_share__gte", 0), ("donor_share__lte", 1)), name="measuredshare_0_1"),
                    models.CheckConstraint(condition=models.Q(("sample_size__gt", 0)), name="measuredshare_sample_positive"),
                ],
            },
        ),
        migrations.CreateModel(
            name="PollenPoolMember",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("pool", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="members", to="registry.pollenpool")),
                (
                    "tree",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="pollen_pools", to="registry.pedigreetree"),
                ),
                (
                    "weight",
                    models.DecimalField(
                        blank=True,
                        decimal_places=4,
                        help_text="Any unit, such as catkins counted; all or none.",
                        max_digits=7,
                        null=True,
                        verbose_name="share of the pollen",
                    ),
                ),
                ("basis", models.CharField(blank=True, max_length=120, verbose_name="how the weight is known")),
            ],
            options={
                "ordering": ["pool", "tree"],
                "constraints": [
                    models.UniqueConstraint(fields=("pool", "tree"), name="pollenpoolmember_once"),
                    models.CheckConstraint(
                        condition=models.Q(("weight__isnull", True), ("weight__gt", 0), _connector="OR"),
                        name="pollenpoolmember_weight_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ProgrammeSetting",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(choices=registry.choices.programme_settings, max_length=40, unique=True)),
                ("value", models.CharField(max_length=80)),
                ("owner", models.CharField(max_length=80, verbose_name="who set it")),
                ("set_on", models.DateField()),
                ("basis", models.CharField(blank=True, max_length=200, verbose_name="what it rests on")),
            ],
            options={
                "ordering": ["key"],
            },
        ),
        migrations.CreateModel(
            name="RatingScale",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80)),
                ("version", models.CharField(max_length=20)),
                ("disease", models.CharField(max_length=80)),
                ("lowest", models.DecimalField(decimal_places=2, max_digits=5)),
                ("highest", models.DecimalField(decimal_places=2, max_digits=5)),
                ("step", models.DecimalField(decimal_places=2, max_digits=4)),
                ("low_means", models.CharField(max_length=160, verbose_name="what the lowest score means")),
                ("high_means", models.CharField(max_length=160, verbose_name="what the highest score means")),
                ("source", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["name", "version"],
                "constraints": [
                    models.UniqueConstraint(fields=("name", "version"), name="ratingscale_version_once"),
                    models.CheckConstraint(
                        condition=models.Q(("highest__gt", models.F("lowest")), ("step__gt", 0)),
                        name="ratingscale_spans",
                        violation_error_message="The highest score lies above the lowest, and the step above zero.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Rating",
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
                    "tree",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="ratings", to="registry.pedigreetree"),
                ),
                (
                    "scale",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="ratings", to="registry.ratingscale"),
                ),
                ("rated_on", models.DateField()),
                ("score", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                ("method", models.CharField(choices=registry.choices.rating_methods, max_length=12)),
                ("strain", models.CharField(blank=True, max_length=60, verbose_name="strain of the pathogen")),
                ("inoculated_on", models.DateField(blank=True, null=True)),
                ("canker_length_mm", models.FloatField(blank=True, null=True)),
                ("canker_width_mm", models.FloatField(blank=True, null=True)),
                ("rater", models.CharField(max_length=80)),
                ("note", models.TextField(blank=True)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="registry.rating",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is corrected")),
            ],
            options={
                "ordering": ["-rated_on", "tree", "id"],
                "indexes": [models.Index(fields=["scale", "rated_on"], name="registry_ra_scale_i_3c4f4c_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("score__isnull", False), ("canker_length_mm__isnull", False), _connector="OR"),
                        name="rating_has_a_reading",
                        violation_error_message="Give a score or a canker length.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("canker_length_mm__isnull", True), ("canker_length_mm__gte", 0), _connector="OR"),
                            models.Q(("canker_width_mm__isnull", True), ("canker_width_mm__gte", 0), _connector="OR"),
                        ),
                        name="rating_canker_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="rating_correction_has_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SeedTest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="tests", to="registry.lot")),
                ("kind", models.CharField(choices=registry.choices.seed_test_kinds, max_length=12)),
                ("tested_on", models.DateField()),
                ("tested_by", models.CharField(max_length=80)),
                ("seeds", models.PositiveIntegerField(blank=True, null=True, verbose_name="seeds in the sample")),
                ("sound", models.PositiveIntegerField(blank=True, null=True, verbose_name="sound (float: sank)")),
                ("infested", models.PositiveIntegerField(blank=True, null=True, verbose_name="with weevil or other insects")),
                ("mouldy", models.PositiveIntegerField(blank=True, null=True)),
                ("empty", models.PositiveIntegerField(blank=True, null=True)),
                ("container_g", models.FloatField(blank=True, null=True, verbose_name="container (g)")),
                ("wet_g", models.FloatField(blank=True, null=True, verbose_name="container and seed before drying (g)")),
                ("dry_g", models.FloatField(blank=True, null=True, verbose_name="container and seed after drying (g)")),
                ("pure_g", models.FloatField(blank=True, null=True, verbose_name="pure seed (g)")),
                ("sample_g", models.FloatField(blank=True, null=True, verbose_name="whole sample (g)")),
                ("regime", models.CharField(blank=True, max_length=120, verbose_name="temperature and days")),
                (
                    "entry",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="seed_test",
                        to="registry.ledgerentry",
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="registry.seedtest",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is corrected")),
            ],
            options={
                "ordering": ["-tested_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("sound__isnull", True), ("sound__lte", models.F("seeds")), _connector="OR"),
                        name="seedtest_sound_within_sample",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("wet_g__isnull", True),
                            ("dry_g__isnull", True),
                            ("container_g__isnull", True),
                            models.Q(("dry_g__gte", models.F("container_g")), ("wet_g__gte", models.F("dry_g"))),
                            _connector="OR",
                        ),
                        name="seedtest_weighings_in_order",
                        violation_error_message="The container weighs least, the dried seed in it more, the seed before drying most.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="seedtest_correction_has_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SeedTestReplicate",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("test", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="replicates", to="registry.seedtest")),
                ("number", models.PositiveSmallIntegerField()),
                ("seeds", models.PositiveIntegerField()),
                ("germinated", models.PositiveIntegerField(blank=True, null=True)),
                ("mass_g", models.FloatField(blank=True, null=True)),
            ],
            options={
                "ordering": ["test", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("test", "number"), name="seedtestreplicate_once"),
                    models.CheckConstraint(
                        condition=models.Q(("germinated__isnull", True), ("germinated__lte", models.F("seeds")), _connector="OR"),
                        name="seedtestreplicate_germinated_within_seeds",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("mass_g__isnull", True), ("mass_g__gt", 0), _connector="OR"),
                        name="seedtestreplicate_mass_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SelectionDecision",
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
                    "tree",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="decisions", to="registry.pedigreetree"),
                ),
                ("decision", models.CharField(choices=registry.choices.decisions, max_length=8)),
                ("decided_on", models.DateField()),
                ("evidence", models.TextField()),
                ("method", models.CharField(blank=True, max_length=160)),
                ("first_name", models.CharField(max_length=80, verbose_name="decided by")),
                ("second_name", models.CharField(max_length=80, verbose_name="agreed by")),
                ("warnings", models.JSONField(blank=True, default=list, verbose_name="diversity warnings shown")),
                ("warnings_answer", models.CharField(blank=True, max_length=300, verbose_name="why it stands in spite of the warnings")),
                ("ratings", models.ManyToManyField(blank=True, related_name="decisions", to="registry.rating")),
            ],
            options={
                "ordering": ["-decided_on", "-id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("evidence", ""), _negated=True), name="selectiondecision_has_evidence"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("first_name", ""), _negated=True),
                            models.Q(("second_name", ""), _negated=True),
                            models.Q(("first_name__iexact", models.F("second_name")), _negated=True),
                        ),
                        name="selectiondecision_two_names",
                        violation_error_message="Two different people decide. Give both names.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("warnings", []), models.Q(("warnings_answer", ""), _negated=True), _connector="OR"),
                        name="selectiondecision_warnings_answered",
                        violation_error_message="The decision breaks a diversity floor. Say why it stands in spite of that.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SpeciesHandbook",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("binomial", models.CharField(max_length=120)),
                ("source", models.CharField(max_length=200)),
                ("seeds_per_kg_low", models.FloatField(blank=True, null=True)),
                ("seeds_per_kg_mean", models.FloatField(blank=True, null=True)),
                ("seeds_per_kg_high", models.FloatField(blank=True, null=True)),
                ("seeds_per_lb_low", models.FloatField(blank=True, null=True)),
                ("seeds_per_lb_mean", models.FloatField(blank=True, null=True)),
                ("seeds_per_lb_high", models.FloatField(blank=True, null=True)),
                ("warm_days_low", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("warm_days_high", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("warm_temperature", models.CharField(blank=True, max_length=20, verbose_name="warm period at (°C)")),
                ("cold_days_low", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("cold_days_high", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("cold_temperature", models.CharField(blank=True, max_length=20, verbose_name="cold period at (°C)")),
                ("test_temperature", models.CharField(blank=True, max_length=20, verbose_name="test at, day/night (°C)")),
                ("test_days", models.CharField(blank=True, max_length=20, verbose_name="days of the test")),
                ("germination_percent", models.FloatField(blank=True, null=True, verbose_name="germination (%)")),
                ("germination_samples", models.PositiveIntegerField(blank=True, null=True, verbose_name="samples behind it")),
                ("storage_class", models.CharField(choices=registry.choices.storage_classes, default="unknown", max_length=12)),
                (
                    "use_by_month",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="use by, month after the harvest year"),
                ),
                ("use_by_day", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="use by, day of that month")),
                ("verified_on", models.DateField(blank=True, null=True, verbose_name="checked against the printed page on")),
                ("verified_by", models.CharField(blank=True, max_length=80)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "verbose_name": "handbook row",
                "ordering": ["binomial", "source"],
                "constraints": [
                    models.UniqueConstraint(fields=("binomial", "source"), name="specieshandbook_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("use_by_day__isnull", True), ("use_by_month__isnull", True)),
                            models.Q(("use_by_day__gte", 1), ("use_by_day__lte", 31), ("use_by_month__gte", 1), ("use_by_month__lte", 12)),
                            _connector="OR",
                        ),
                        name="specieshandbook_use_by_whole",
                        violation_error_message="Give month and day of the use-by day, or neither.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("verified_on__isnull", True), models.Q(("verified_by", ""), _negated=True), _connector="OR"),
                        name="specieshandbook_verified_by_somebody",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StorageRecord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="storage_log", to="registry.lot")),
                ("on", models.DateField()),
                ("place", models.CharField(max_length=120)),
                ("temperature_c", models.FloatField(blank=True, null=True, verbose_name="temperature (°C)")),
                (
                    "feel",
                    models.CharField(blank=True, choices=registry.choices.moisture_feels, max_length=5, verbose_name="moisture by feel"),
                ),
                ("sprouted_percent", models.FloatField(blank=True, null=True, verbose_name="sprouted (%)")),
                ("mouldy_percent", models.FloatField(blank=True, null=True, verbose_name="mouldy (%)")),
                ("radicle_mm", models.FloatField(blank=True, null=True, verbose_name="radicle length (mm)")),
                (
                    "entry",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="storage_record",
                        to="registry.ledgerentry",
                    ),
                ),
                ("by", models.CharField(max_length=80, verbose_name="looked at by")),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["-on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("sprouted_percent__isnull", True),
                                models.Q(("sprouted_percent__gte", 0), ("sprouted_percent__lte", 100)),
                                _connector="OR",
                            ),
                            models.Q(
                                ("mouldy_percent__isnull", True),
                                models.Q(("mouldy_percent__gte", 0), ("mouldy_percent__lte", 100)),
                                _connector="OR",
                            ),
                        ),
                        name="storagerecord_percent_0_100",
                        violation_error_message="A percentage lies between 0 and 100.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Treatment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="treatments", to="registry.lot")),
                ("kind", models.CharField(choices=registry.choices.treatment_kinds, max_length=10)),
                ("started_on", models.DateField()),
                ("ended_on", models.DateField(blank=True, null=True)),
                ("temperature_c", models.FloatField(blank=True, null=True, verbose_name="temperature (°C)")),
                ("minutes", models.FloatField(blank=True, null=True)),
                ("thermometer", models.CharField(blank=True, max_length=80)),
                ("product", models.CharField(blank=True, max_length=160, verbose_name="product and dilution")),
                ("operator", models.CharField(max_length=80)),
                ("licence", models.CharField(blank=True, max_length=80, verbose_name="licence of the operator, where one is needed")),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["-started_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ended_on__isnull", True), ("ended_on__gte", models.F("started_on")), _connector="OR"),
                        name="treatment_ends_after_start",
                        violation_error_message="It ends before it starts.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minutes__isnull", True), ("minutes__gt", 0), _connector="OR"),
                        name="treatment_minutes_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TreeStatusRecord",
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
                    "tree",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="status_history", to="registry.pedigreetree"
                    ),
                ),
                ("status", models.CharField(choices=registry.choices.tree_statuses, max_length=10)),
                ("on", models.DateField(blank=True, null=True)),
                ("reason", models.TextField(blank=True)),
                ("stump_treated", models.BooleanField(blank=True, null=True, verbose_name="stump treated")),
            ],
            options={
                "ordering": ["tree", "on", "id"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="ledgerentry",
            name="ledgerentry_sign_by_kind",
        ),
        migrations.RemoveConstraint(
            model_name="lot",
            name="lot_one_origin",
        ),
        migrations.AddField(
            model_name="lot",
            name="closed_on",
            field=models.DateField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="pedigreetree",
            name="first_flowering_year",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="pollenpool",
            name="flowered_on",
            field=models.DateField(
                blank=True,
                help_text="Trees that stood on this day are in the pool; 1 June when left blank.",
                null=True,
                verbose_name="day of flowering",
            ),
        ),
        migrations.AddField(
            model_name="pollenpool",
            name="outside_taxon",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="registry.taxon",
                verbose_name="outside pollen is taken as",
            ),
        ),
        migrations.AddField(
            model_name="pollenpool",
            name="selfing_share",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True, verbose_name="declared selfing share (0–1)"),
        ),
        migrations.AddConstraint(
            model_name="ledgerentry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("reverses__isnull", False),
                    ("kind", "counted"),
                    models.Q(
                        ("kind__in", ("harvested", "acquired", "raised", "bulked_in", "split_in", "received_back")), ("quantity__gt", 0)
                    ),
                    models.Q(
                        ("kind__in", ("discarded", "sampled", "bulked_out", "split_out", "sown", "shipped", "planted", "destroyed")),
                        ("quantity__lt", 0),
                    ),
                    _connector="OR",
                ),
                name="ledgerentry_sign_by_kind",
            ),
        ),
        migrations.AddConstraint(
            model_name="lot",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("mother__isnull", False),
                        ("origin", "harvest"),
                        ("outside_origin", ""),
                        ("parent__isnull", True),
                        ("year__isnull", False),
                        ("declared_line", ""),
                        ("declared_source", ""),
                    ),
                    models.Q(
                        ("origin__in", ("sown", "split")),
                        ("outside_origin", ""),
                        ("parent__isnull", False),
                        ("father__isnull", True),
                        ("mother__isnull", True),
                        ("pollen_pool__isnull", True),
                        ("declared_line", ""),
                        ("declared_source", ""),
                    ),
                    models.Q(
                        ("origin", "bulk"),
                        ("outside_origin", ""),
                        ("parent__isnull", True),
                        ("father__isnull", True),
                        ("mother__isnull", True),
                        ("pollen_pool__isnull", True),
                        ("declared_line", ""),
                        ("declared_source", ""),
                    ),
                    models.Q(
                        ("origin", "outside"),
                        ("parent__isnull", True),
                        ("father__isnull", True),
                        ("mother__isnull", True),
                        ("pollen_pool__isnull", True),
                        models.Q(("outside_origin", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="lot_one_origin",
                violation_error_message="A lot has exactly one origin: a harvest (mother and year), a parent lot it was raised from, component lots (bulk), a lot it was split from, or a declared outside origin. Fill the fields of that origin and leave the others blank.",
            ),
        ),
        migrations.AddConstraint(
            model_name="lot",
            constraint=models.CheckConstraint(
                condition=models.Q(("closed_on__isnull", True), ("balance", 0), _connector="OR"), name="lot_closed_at_zero"
            ),
        ),
        migrations.AddConstraint(
            model_name="pollenpool",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("selfing_share__isnull", True), models.Q(("selfing_share__gte", 0), ("selfing_share__lte", 1)), _connector="OR"
                ),
                name="pollenpool_selfing_share_0_1",
            ),
        ),
        migrations.AddConstraint(
            model_name="pollenpool",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("outside_share__isnull", True),
                    ("selfing_share__isnull", True),
                    (
                        "outside_share__lte",
                        django.db.models.expressions.CombinedExpression(models.Value(1), "-", models.F("selfing_share")),
                    ),
                    _connector="OR",
                ),
                name="pollenpool_shares_within_1",
                violation_error_message="Outside share and selfing share together are more than the whole.",
            ),
        ),
    ]
