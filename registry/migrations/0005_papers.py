import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import registry.choices


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0004_append_only_material"),
    ]

    operations = [
        migrations.CreateModel(
            name="AgreementText",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("title", models.CharField(max_length=160)),
                ("version", models.CharField(max_length=20)),
                ("body", models.TextField()),
                ("is_example", models.BooleanField(default=False, verbose_name="an example, not law")),
            ],
            options={
                "ordering": ["title", "version"],
                "constraints": [models.UniqueConstraint(fields=("title", "version"), name="agreementtext_version_once")],
            },
        ),
        migrations.CreateModel(
            name="AgreementSignature",
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
                    "authorization",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="signatures", to="registry.authorization"),
                ),
                (
                    "text",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="signatures", to="registry.agreementtext"),
                ),
                ("signed_by", models.CharField(max_length=120)),
                ("signed_on", models.DateField()),
                ("how", models.CharField(choices=registry.choices.signed_hows, max_length=8)),
            ],
            options={
                "ordering": ["-signed_on", "-id"],
            },
        ),
        migrations.CreateModel(
            name="AuditHead",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entries", models.PositiveBigIntegerField(default=0)),
                ("sha256", models.CharField(blank=True, max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name="AuthorizationDraw",
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
                    "authorization",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="draws", to="registry.authorization"),
                ),
                ("kind", models.CharField(choices=registry.choices.draw_kinds, max_length=8)),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="draws", to="registry.lot")),
                ("quantity", models.IntegerField()),
                ("on", models.DateField()),
                ("subject", models.CharField(max_length=60, verbose_name="shipment or planting")),
                ("reason", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["authorization", "on", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "returned"), ("quantity__lt", 0), models.Q(("reason", ""), _negated=True)),
                            models.Q(models.Q(("kind", "returned"), _negated=True), ("quantity__gt", 0)),
                            _connector="OR",
                        ),
                        name="authorizationdraw_sign_by_kind",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="AuthorizationStateRecord",
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
                    "authorization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="state_history", to="registry.authorization"
                    ),
                ),
                ("state", models.CharField(choices=registry.choices.authorization_states, max_length=10)),
                ("on", models.DateField()),
                ("reason", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["authorization", "on", "id"],
            },
        ),
        migrations.CreateModel(
            name="AuthorizationVersion",
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
                    "authorization",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="versions", to="registry.authorization"),
                ),
                ("number", models.PositiveSmallIntegerField()),
                ("from_on", models.DateField(blank=True, null=True, verbose_name="says so from")),
                ("starts_on", models.DateField(blank=True, null=True)),
                ("ends_on", models.DateField(blank=True, null=True)),
                ("covers", models.TextField(blank=True)),
                ("conditions", models.TextField(blank=True)),
                ("under", models.JSONField(blank=True, default=list, verbose_name="issued under the rules")),
                ("classes", models.JSONField(blank=True, default=list, verbose_name="material classes")),
                ("taxa", models.JSONField(blank=True, default=list)),
                ("lots", models.JSONField(blank=True, default=list)),
                ("forms", models.JSONField(blank=True, default=list)),
                ("activities", models.JSONField(blank=True, default=list)),
                ("origins", models.JSONField(blank=True, default=list)),
                ("destinations", models.JSONField(blank=True, default=list)),
                ("transits", models.JSONField(blank=True, default=list)),
                ("sites", models.JSONField(blank=True, default=list)),
                ("people", models.JSONField(blank=True, default=list)),
                ("cap_quantity", models.PositiveIntegerField(blank=True, null=True)),
                ("cap_unit", models.CharField(blank=True, max_length=20)),
                ("cap_activities", models.JSONField(blank=True, default=list)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="what was amended and why")),
            ],
            options={
                "ordering": ["authorization", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("authorization", "number"), name="authorizationversion_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("starts_on__isnull", True), ("ends_on__isnull", True), ("ends_on__gte", models.F("starts_on")), _connector="OR"
                        ),
                        name="authorizationversion_ends_after_start",
                        violation_error_message="The end date lies before the start date.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("number", 0), models.Q(("from_on__isnull", False), models.Q(("reason", ""), _negated=True)), _connector="OR"
                        ),
                        name="authorizationversion_amendment_dated",
                        violation_error_message="An amendment has the day it holds from and what was amended.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CalendarFeed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "person",
                    models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="feeds", to=settings.AUTH_USER_MODEL),
                ),
                ("token_sha256", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["-made_at"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("revoked_at__isnull", True)), fields=("person",), name="calendarfeed_one_open"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CautionSeen",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="cautions_seen", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("task", models.CharField(choices=registry.choices.caution_tasks, max_length=12)),
                ("subject", models.CharField(blank=True, max_length=60, verbose_name="round or task")),
                ("versions", models.JSONField()),
                ("seen_at", models.DateTimeField()),
            ],
            options={
                "verbose_name_plural": "cautions seen",
                "ordering": ["-seen_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="CautionText",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("code", models.CharField(max_length=40)),
                ("version", models.PositiveSmallIntegerField()),
                ("task", models.CharField(choices=registry.choices.caution_tasks, max_length=12)),
                ("hazard", models.CharField(max_length=80)),
                ("text", models.TextField()),
                ("decider", models.CharField(max_length=120, verbose_name="who decides locally")),
                ("months", models.JSONField(blank=True, default=list, verbose_name="months it is for")),
                ("site_codes", models.JSONField(blank=True, default=list, verbose_name="sites it is for")),
                ("source", models.CharField(blank=True, max_length=300)),
                ("in_use_from", models.DateField()),
                ("withdrawn", models.BooleanField(default=False, verbose_name="withdrawn by this version")),
            ],
            options={
                "ordering": ["task", "code", "version"],
                "constraints": [models.UniqueConstraint(fields=("code", "version"), name="cautiontext_version_once")],
            },
        ),
        migrations.CreateModel(
            name="Determination",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("activity", models.CharField(max_length=20)),
                ("subject", models.CharField(blank=True, max_length=60, verbose_name="code of the shipment, planting or place")),
                (
                    "shipment",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="determinations",
                        to="registry.shipment",
                    ),
                ),
                ("asked_for", models.DateField(verbose_name="for the day")),
                ("verdict", models.CharField(max_length=10)),
                ("question", models.JSONField()),
                ("facts", models.JSONField()),
                ("answer", models.JSONField()),
                ("carried_out", models.BooleanField(default=False, verbose_name="dispatched or established on it")),
                (
                    "override_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("override_reason", models.TextField(blank=True)),
                ("authorizations", models.ManyToManyField(blank=True, related_name="determinations", to="registry.authorization")),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["subject", "activity"], name="registry_de_subject_d5a4a0_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("override_by__isnull", True), ("override_reason", "")),
                            models.Q(("override_by__isnull", False), models.Q(("override_reason", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="determination_override_has_reason",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("carried_out", True), ("verdict", "stop"), _negated=True),
                            ("override_by__isnull", False),
                            _connector="OR",
                        ),
                        name="determination_stop_needs_override",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Requirement",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40)),
                ("edition", models.CharField(max_length=60, verbose_name="edition of the text it was read in")),
                ("title", models.CharField(max_length=200)),
                ("text", models.TextField(blank=True, verbose_name="what it asks for, in our words")),
                ("activities", models.JSONField(blank=True, default=list)),
                ("classes", models.JSONField(blank=True, default=list, verbose_name="material classes")),
                ("forms", models.JSONField(blank=True, default=list)),
                ("taxa", models.JSONField(blank=True, default=list)),
                ("origins", models.JSONField(blank=True, default=list)),
                ("destinations", models.JSONField(blank=True, default=list)),
                ("transits", models.JSONField(blank=True, default=list)),
                ("from_on", models.DateField(blank=True, null=True, verbose_name="applies from")),
                ("until_on", models.DateField(blank=True, null=True, verbose_name="applies until")),
                (
                    "any_of",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text="A list of sets of paper types; one paper of every set is needed.",
                        verbose_name="papers needed",
                    ),
                ),
                ("blocking", models.BooleanField(default=True, verbose_name="stops dispatch and establishing")),
                ("source", models.CharField(max_length=300)),
                ("verified_on", models.DateField(blank=True, null=True)),
                ("verified_with", models.CharField(blank=True, max_length=160, verbose_name="verified with (authority and person)")),
                ("verified_by", models.CharField(blank=True, max_length=80)),
                ("review_by", models.DateField(blank=True, null=True, verbose_name="to be asked again by")),
                ("is_example", models.BooleanField(default=False, verbose_name="an example, not law")),
            ],
            options={
                "verbose_name": "rule",
                "ordering": ["code", "edition"],
                "constraints": [
                    models.UniqueConstraint(fields=("code", "edition"), name="requirement_edition_once"),
                    models.CheckConstraint(
                        condition=models.Q(("source", ""), _negated=True),
                        name="requirement_has_source",
                        violation_error_message="Say where the rule was read.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("verified_by", ""), ("verified_on__isnull", True), ("verified_with", "")),
                            models.Q(
                                ("verified_on__isnull", False),
                                models.Q(("verified_with", ""), _negated=True),
                                models.Q(("verified_by", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="requirement_verified_whole",
                        violation_error_message="Verified means: on which day, with which authority, by whom.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("from_on__isnull", True), ("until_on__isnull", True), ("until_on__gte", models.F("from_on")), _connector="OR"
                        ),
                        name="requirement_until_after_from",
                        violation_error_message="It ends before it begins.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Duty",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("code", models.CharField(max_length=40, unique=True)),
                ("kind", models.CharField(choices=registry.choices.duty_kinds, max_length=12)),
                ("title", models.CharField(max_length=160)),
                (
                    "authorization",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="duties",
                        to="registry.authorization",
                    ),
                ),
                (
                    "requirement",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="duties", to="registry.requirement"
                    ),
                ),
                (
                    "partner",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="duties", to="registry.partner"
                    ),
                ),
                ("site_code", models.CharField(blank=True, max_length=40, verbose_name="code of the site")),
                ("recurrence", models.CharField(choices=registry.choices.recurrences, default="once", max_length=14)),
                ("first_due_on", models.DateField(verbose_name="first due on")),
                ("every", models.PositiveSmallIntegerField(default=1, verbose_name="every so many months or years")),
                ("season_month", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("season_day", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("days_before", models.PositiveSmallIntegerField(default=0, verbose_name="so many days before")),
                ("until_on", models.DateField(blank=True, null=True, verbose_name="last occurrence by")),
                ("lead_days", models.PositiveSmallIntegerField(default=30, verbose_name="days of notice")),
                (
                    "responsible",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="duties",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("evidence_wanted", models.CharField(blank=True, max_length=200)),
                ("closed_on", models.DateField(blank=True, null=True)),
                ("closed_reason", models.CharField(blank=True, max_length=200)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "verbose_name_plural": "duties",
                "ordering": ["first_due_on", "code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_on__isnull", True), ("closed_reason", "")),
                            models.Q(("closed_on__isnull", False), models.Q(("closed_reason", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="duty_closed_has_reason",
                        violation_error_message="Say why the duty ends.",
                    ),
                    models.CheckConstraint(condition=models.Q(("every__gte", 1)), name="duty_every_positive"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("season_day__isnull", True), ("season_month__isnull", True)),
                            models.Q(("season_day__gte", 1), ("season_day__lte", 31), ("season_month__gte", 1), ("season_month__lte", 12)),
                            _connector="OR",
                        ),
                        name="duty_season_whole",
                        violation_error_message="Give month and day of the season, or neither.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StoredFile",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("sha256", models.CharField(max_length=64, unique=True)),
                ("size_bytes", models.PositiveIntegerField()),
                ("content_type", models.CharField(max_length=80)),
                ("filename", models.CharField(max_length=160, verbose_name="name it came with")),
            ],
            options={
                "ordering": ["-entered_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="DutyDone",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("duty", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="done", to="registry.duty")),
                ("due_on", models.DateField()),
                ("done_on", models.DateField()),
                ("by", models.CharField(max_length=80, verbose_name="done by")),
                ("evidence", models.TextField()),
                (
                    "file",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="duties_done",
                        to="registry.storedfile",
                    ),
                ),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="registry.dutydone",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is corrected")),
            ],
            options={
                "verbose_name_plural": "duties done",
                "ordering": ["duty", "due_on", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("evidence", ""), _negated=True),
                        name="dutydone_has_evidence",
                        violation_error_message="Say what shows that it was done.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="dutydone_correction_has_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Incident",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("code", models.CharField(max_length=40, unique=True)),
                ("title", models.CharField(max_length=160)),
                ("what", models.TextField(verbose_name="what was found")),
                ("found_at", models.DateTimeField(verbose_name="discovered at")),
                ("found_by", models.CharField(max_length=80, verbose_name="discovered by")),
                ("place", models.CharField(blank=True, max_length=160)),
                ("site_code", models.CharField(blank=True, max_length=40, verbose_name="code of the site")),
                ("done_about_it", models.TextField(blank=True, verbose_name="what was done about it")),
                ("closed_on", models.DateField(blank=True, null=True)),
                ("closed_reason", models.CharField(blank=True, max_length=200)),
                ("authorizations", models.ManyToManyField(blank=True, related_name="incidents", to="registry.authorization")),
                ("lots", models.ManyToManyField(blank=True, related_name="incidents", to="registry.lot")),
            ],
            options={
                "ordering": ["-found_at", "code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_on__isnull", True), ("closed_reason", "")),
                            models.Q(("closed_on__isnull", False), models.Q(("closed_reason", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="incident_closed_has_reason",
                        violation_error_message="Say how the incident ended.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ReportingClock",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "authorization",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="clocks", to="registry.authorization"),
                ),
                ("title", models.CharField(max_length=120, verbose_name="what is told")),
                ("tell", models.CharField(max_length=160, verbose_name="whom")),
                ("amount", models.PositiveSmallIntegerField()),
                ("unit", models.CharField(choices=registry.choices.clock_units, max_length=12)),
                ("as_written", models.TextField(blank=True, verbose_name="as the paper says")),
            ],
            options={
                "ordering": ["authorization", "id"],
                "constraints": [models.UniqueConstraint(fields=("authorization", "title"), name="reportingclock_once")],
            },
        ),
        migrations.CreateModel(
            name="IncidentNotice",
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
                    "incident",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="notices", to="registry.incident"),
                ),
                (
                    "clock",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="notices",
                        to="registry.reportingclock",
                    ),
                ),
                ("told_at", models.DateTimeField()),
                ("told_whom", models.CharField(max_length=160)),
                ("how", models.CharField(max_length=60, verbose_name="by phone, mail, letter")),
                ("told_by", models.CharField(max_length=80)),
                ("text", models.TextField(blank=True, verbose_name="what was said")),
                (
                    "file",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="notices", to="registry.storedfile"
                    ),
                ),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="registry.incidentnotice",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is corrected")),
            ],
            options={
                "ordering": ["incident", "told_at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="incidentnotice_correction_has_reason",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LandNotice",
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
                    "partner",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="land_notices", to="registry.partner"),
                ),
                ("kind", models.CharField(choices=registry.choices.land_notice_kinds, max_length=8)),
                ("site_code", models.CharField(blank=True, max_length=40, verbose_name="code of the site")),
                ("text", models.TextField()),
                ("handled_on", models.DateField(blank=True, null=True)),
                ("handled_by", models.CharField(blank=True, max_length=80)),
                ("handled_text", models.TextField(blank=True, verbose_name="what was done")),
            ],
            options={
                "ordering": ["handled_on", "-entered_at"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("handled_on__isnull", True),
                            models.Q(models.Q(("handled_by", ""), _negated=True), models.Q(("handled_text", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="landnotice_handled_whole",
                        violation_error_message="Say who acted on it and what was done.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MaterialClass",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("title", models.CharField(max_length=160)),
                ("rule", models.CharField(choices=registry.choices.class_rules, max_length=16)),
                ("taxa", models.JSONField(blank=True, default=list, verbose_name="binomials or genera")),
                ("forms", models.JSONField(blank=True, default=list)),
                ("source", models.CharField(blank=True, max_length=300)),
                ("is_example", models.BooleanField(default=False, verbose_name="an example, not law")),
                ("note", models.TextField(blank=True)),
                ("declared_lots", models.ManyToManyField(blank=True, related_name="declared_classes", to="registry.lot")),
            ],
            options={
                "verbose_name_plural": "material classes",
                "ordering": ["code"],
            },
        ),
        migrations.CreateModel(
            name="PaperDocument",
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
                    "authorization",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="documents", to="registry.authorization"),
                ),
                (
                    "file",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="documents", to="registry.storedfile"),
                ),
                ("title", models.CharField(max_length=160)),
                ("dated", models.DateField(blank=True, null=True, verbose_name="date on the document")),
            ],
            options={
                "ordering": ["authorization", "-entered_at", "id"],
                "constraints": [models.UniqueConstraint(fields=("authorization", "file"), name="paperdocument_once")],
            },
        ),
        migrations.CreateModel(
            name="PrivateLink",
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
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="private_links", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("token_sha256", models.CharField(max_length=64, unique=True)),
                ("ends_on", models.DateField(blank=True, null=True, verbose_name="good until")),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("opened_at", models.DateTimeField(blank=True, null=True, verbose_name="last opened")),
            ],
            options={
                "ordering": ["-entered_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="ReminderSent",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("person", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("week", models.CharField(max_length=8, verbose_name="ISO week")),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("lines", models.PositiveIntegerField()),
            ],
            options={
                "ordering": ["-week", "person"],
                "constraints": [models.UniqueConstraint(fields=("person", "week"), name="remindersent_once")],
            },
        ),
        migrations.AddField(
            model_name="auditentry",
            name="previous_sha256",
            field=models.CharField(blank=True, default="", editable=False, max_length=64),
        ),
        migrations.AddField(
            model_name="auditentry",
            name="sha256",
            field=models.CharField(blank=True, default="", editable=False, max_length=64),
        ),
        migrations.AddField(
            model_name="authorization",
            name="basis",
            field=models.TextField(
                blank=True,
                help_text="Of a determination that none is needed: who was asked, what was read.",
                verbose_name="what it rests on",
            ),
        ),
        migrations.AddField(
            model_name="authorization",
            name="drawn",
            field=models.PositiveIntegerField(default=0, editable=False, verbose_name="drawn from the cap so far"),
        ),
        migrations.AddField(
            model_name="authorization",
            name="holder_account",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="papers_held", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="authorization",
            name="holder_address",
            field=models.TextField(blank=True, verbose_name="address it is bound to"),
        ),
        migrations.AddField(
            model_name="authorization",
            name="issuer_contact",
            field=models.CharField(blank=True, max_length=160, verbose_name="whom to ask at the issuer"),
        ),
        migrations.AddField(
            model_name="authorization",
            name="partner",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="papers", to="registry.partner"
            ),
        ),
        migrations.AddField(
            model_name="authorization",
            name="review_by",
            field=models.DateField(blank=True, null=True, verbose_name="to be asked again by"),
        ),
        migrations.AddField(
            model_name="authorization",
            name="second_account",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="papers_seconded",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="authorization",
            name="second_contact",
            field=models.CharField(blank=True, max_length=160),
        ),
        migrations.AddField(
            model_name="authorization",
            name="transferable",
            field=models.BooleanField(default=False, verbose_name="goes on when the holder leaves"),
        ),
        migrations.AddField(
            model_name="authorization",
            name="verified_by",
            field=models.CharField(blank=True, max_length=80, verbose_name="checked by"),
        ),
        migrations.AddField(
            model_name="authorization",
            name="verified_on",
            field=models.DateField(blank=True, null=True, verbose_name="last checked with the issuer on"),
        ),
        migrations.AddField(
            model_name="person",
            name="left_on",
            field=models.DateField(blank=True, null=True, verbose_name="left the programme on"),
        ),
        migrations.AddConstraint(
            model_name="auditentry",
            constraint=models.UniqueConstraint(
                condition=models.Q(("previous_sha256", ""), _negated=True),
                fields=("previous_sha256",),
                name="auditentry_chain_does_not_fork",
            ),
        ),
        migrations.AddConstraint(
            model_name="authorization",
            constraint=models.CheckConstraint(
                condition=models.Q(("cap_quantity__isnull", True), ("drawn__lte", models.F("cap_quantity")), _connector="OR"),
                name="authorization_drawn_within_cap",
                violation_error_message="More has been drawn under this paper than its cap.",
            ),
        ),
    ]
