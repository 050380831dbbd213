"""What 0001 to 0019 make of an empty database, in a quarter of the time. A database that has run some of those goes on with them."""

import django.contrib.auth.validators
import django.db.models.deletion
import django.db.models.expressions
import django.utils.timezone
import registry.choices.duties
import registry.choices.gate
import registry.choices.identity
import registry.choices.land
import registry.choices.lots
import registry.choices.movements
import registry.choices.orchard
import registry.choices.pedigree
import registry.choices.people
import registry.choices.permits
import registry.choices.prints
import registry.models.people
import uuid
from django.conf import settings
from django.db import migrations, models

from registry.models.append_only import finish_tables, protect_again


APPEND_ONLY = (
    "agreementsignature",
    "agreementtext",
    "auditentry",
    "authorizationdraw",
    "authorizationstaterecord",
    "authorizationversion",
    "cautionseen",
    "cautiontext",
    "decisionagreement",
    "determination",
    "dutydone",
    "harvest",
    "identityevidence",
    "incidentnotice",
    "issuedprint",
    "ledgerentry",
    "measuredshare",
    "paperdocument",
    "rating",
    "ruleverification",
    "seedtest",
    "seedtestreplicate",
    "selectiondecision",
    "storagerecord",
    "storedfile",
    "treatment",
    "treestatusrecord",
)


def begin_audit_trail(apps, schema_editor):
    apps.get_model("registry", "AuditHead").objects.create(pk=1, entries=0, sha256="")


class Migration(migrations.Migration):
    replaces = [
        ("registry", "0001_records"),
        ("registry", "0002_append_only"),
        ("registry", "0003_material"),
        ("registry", "0004_append_only_material"),
        ("registry", "0005_papers"),
        ("registry", "0006_take_over_papers"),
        ("registry", "0007_gate"),
        ("registry", "0008_programme_address"),
        ("registry", "0009_caps_by_day"),
        ("registry", "0010_handbook_fruit_and_bath"),
        ("registry", "0011_prints_and_labels"),
        ("registry", "0013_append_only_replace"),
        ("registry", "0014_gate_decides"),
        ("registry", "0018_taking_back"),
        ("registry", "0019_verifications_and_leftovers"),
    ]

    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="AuditHead",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entries", models.PositiveBigIntegerField(default=0)),
                ("sha256", models.CharField(blank=True, max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name="ColumnMapping",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=30)),
                ("name", models.CharField(max_length=60)),
                ("spec", models.JSONField(blank=True, default=dict)),
            ],
            options={
                "ordering": ["kind", "name"],
                "constraints": [models.UniqueConstraint(fields=("kind", "name"), name="columnmapping_name_once")],
            },
        ),
        migrations.CreateModel(
            name="Partner",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("kind", models.CharField(choices=registry.choices.movements.partner_kinds, max_length=10)),
                ("contact_name", models.CharField(blank=True, max_length=120)),
                ("email", models.EmailField(blank=True, max_length=254)),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("address", models.TextField(blank=True)),
                (
                    "region",
                    models.CharField(
                        blank=True,
                        help_text="Such as US-VT. Rules use it.",
                        max_length=10,
                        verbose_name="country or subdivision (ISO 3166)",
                    ),
                ),
                ("county", models.CharField(blank=True, max_length=60)),
                ("consent_on", models.DateField(blank=True, null=True, verbose_name="consent to store contacts given on")),
                ("map_privacy", models.CharField(choices=registry.choices.movements.map_privacies, default="general", max_length=8)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["code"],
            },
        ),
        migrations.CreateModel(
            name="PasswordAsked",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField(db_index=True)),
                ("email", models.CharField(max_length=254)),
                ("address", models.GenericIPAddressField(blank=True, null=True, verbose_name="asked from")),
                ("within_limits", models.BooleanField()),
            ],
            options={
                "verbose_name": "request for a new password",
                "verbose_name_plural": "requests for a new password",
                "ordering": ["-at"],
            },
        ),
        migrations.CreateModel(
            name="ProgrammeSetting",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(choices=registry.choices.orchard.programme_settings, max_length=40, unique=True)),
                ("value", models.CharField(max_length=200)),
                ("owner", models.CharField(max_length=80, verbose_name="who set it")),
                ("set_on", models.DateField()),
                ("basis", models.CharField(blank=True, max_length=200, verbose_name="basis")),
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
                        violation_error_message="The highest score must be above the lowest, and the step above zero.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Requirement",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40)),
                ("edition", models.CharField(max_length=60, verbose_name="edition of the source")),
                ("title", models.CharField(max_length=200)),
                ("text", models.TextField(blank=True, verbose_name="what it requires, in our words")),
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
                ("blocking", models.BooleanField(default=True, verbose_name="stops dispatch and planting")),
                ("source", models.CharField(max_length=300)),
                ("verified_on", models.DateField(blank=True, null=True)),
                ("verified_with", models.CharField(blank=True, max_length=160, verbose_name="verified with (authority and person)")),
                ("verified_by", models.CharField(blank=True, max_length=80)),
                ("review_by", models.DateField(blank=True, null=True, verbose_name="ask again by")),
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
                        violation_error_message="Give the source of the rule.",
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
                        violation_error_message="To mark the rule as verified, give the date, the authority and who checked.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("from_on__isnull", True), ("until_on__isnull", True), ("until_on__gte", models.F("from_on")), _connector="OR"
                        ),
                        name="requirement_until_after_from",
                        violation_error_message="The last day is before the first.",
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
                ("germination_samples", models.PositiveIntegerField(blank=True, null=True, verbose_name="number of samples")),
                ("storage_class", models.CharField(choices=registry.choices.lots.storage_classes, default="unknown", max_length=12)),
                (
                    "use_by_month",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="use by, month after the harvest year"),
                ),
                ("use_by_day", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="use by, day of that month")),
                ("fruit", models.CharField(blank=True, max_length=40, verbose_name="what is picked")),
                ("bath_c_low", models.FloatField(blank=True, null=True, verbose_name="hot water bath from (°C)")),
                ("bath_c_high", models.FloatField(blank=True, null=True, verbose_name="hot water bath to (°C)")),
                ("bath_minutes", models.FloatField(blank=True, null=True, verbose_name="hot water bath (minutes)")),
                ("bath_against", models.CharField(blank=True, max_length=40, verbose_name="hot water bath against")),
                ("bath_source", models.CharField(blank=True, max_length=200, verbose_name="source of the bath")),
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
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("bath_against", ""),
                                ("bath_c_high__isnull", True),
                                ("bath_c_low__isnull", True),
                                ("bath_minutes__isnull", True),
                                ("bath_source", ""),
                            ),
                            models.Q(
                                ("bath_c_high__isnull", False),
                                ("bath_c_low__isnull", False),
                                ("bath_minutes__isnull", False),
                                ("bath_c_high__lte", 100),
                                ("bath_c_low__gte", 0),
                                ("bath_c_low__lte", models.F("bath_c_high")),
                                ("bath_minutes__gt", 0),
                                models.Q(("bath_against", ""), _negated=True),
                                models.Q(("bath_source", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="specieshandbook_bath_whole",
                        violation_error_message="Give temperatures, minutes, pest and source of the hot water bath, or none of them.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Taxon",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120, unique=True, verbose_name="binomial")),
                ("common_name", models.CharField(blank=True, max_length=120)),
                (
                    "hybrid_of",
                    models.CharField(
                        blank=True,
                        help_text="Such as Juglans ailantifolia × Juglans cinerea. Rules go by either.",
                        max_length=200,
                        verbose_name="parents of a hybrid",
                    ),
                ),
                ("role", models.CharField(choices=registry.choices.pedigree.taxon_roles, max_length=10)),
            ],
            options={
                "verbose_name_plural": "taxa",
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="Person",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
                ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False, help_text="Designates whether the user can log into this admin site.", verbose_name="staff status"
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                ("date_joined", models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined")),
                ("role", models.CharField(choices=registry.choices.people.role_choices, max_length=20)),
                (
                    "partner",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="people", to="registry.partner"
                    ),
                ),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("left_on", models.DateField(blank=True, null=True, verbose_name="left the programme on")),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "ordering": ["username"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(models.Q(("role", "landowner"), _negated=True), ("partner__isnull", False), _connector="OR"),
                        name="person_landowner_has_partner",
                        violation_error_message="A landowner contact needs the partner whose land it is.",
                    )
                ],
            },
            managers=[
                ("objects", registry.models.people.PersonManager()),
            ],
        ),
        migrations.CreateModel(
            name="PollenPool",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("orchard", models.CharField(max_length=60)),
                ("block", models.CharField(blank=True, max_length=40)),
                ("flowering_year", models.PositiveSmallIntegerField()),
                (
                    "flowered_on",
                    models.DateField(
                        blank=True,
                        help_text="Trees alive on this day are in the pool. Leave blank for 1 June.",
                        null=True,
                        verbose_name="day of flowering",
                    ),
                ),
                (
                    "outside_share",
                    models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True, verbose_name="declared outside share (0–1)"),
                ),
                (
                    "outside_taxon",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="registry.taxon",
                        verbose_name="taxon of outside pollen",
                    ),
                ),
                ("outside_classes", models.JSONField(blank=True, default=list, verbose_name="classes outside pollen may carry")),
                (
                    "selfing_share",
                    models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True, verbose_name="declared selfing share (0–1)"),
                ),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("outside_share__isnull", True), models.Q(("outside_share__gte", 0), ("outside_share__lte", 1)), _connector="OR"
                        ),
                        name="pollenpool_outside_share_0_1",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("selfing_share__isnull", True), models.Q(("selfing_share__gte", 0), ("selfing_share__lte", 1)), _connector="OR"
                        ),
                        name="pollenpool_selfing_share_0_1",
                    ),
                    models.CheckConstraint(
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
                        violation_error_message="Outside share and selfing share add up to more than 1.",
                    ),
                ],
            },
        ),
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
            name="AuditEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("actor", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("at", models.DateTimeField()),
                ("verb", models.CharField(max_length=60)),
                ("record_type", models.CharField(max_length=40)),
                ("record_id", models.BigIntegerField()),
                ("record_label", models.CharField(max_length=120)),
                ("changes", models.JSONField(default=dict)),
                ("reason", models.TextField(blank=True)),
                ("previous_sha256", models.CharField(blank=True, default="", editable=False, max_length=64)),
                ("sha256", models.CharField(blank=True, default="", editable=False, max_length=64)),
            ],
            options={
                "verbose_name_plural": "audit entries",
                "ordering": ["-id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("previous_sha256", ""), _negated=True),
                        fields=("previous_sha256",),
                        name="auditentry_chain_does_not_fork",
                    )
                ],
                "indexes": [models.Index(fields=["record_type", "record_id"], name="registry_au_record__a6b9b4_idx")],
            },
        ),
        migrations.CreateModel(
            name="Authorization",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True, verbose_name="our reference")),
                ("type", models.CharField(choices=registry.choices.permits.authorization_types, max_length=12)),
                ("title", models.CharField(max_length=160)),
                ("issuer", models.CharField(max_length=160)),
                ("issuer_reference", models.CharField(blank=True, max_length=80, verbose_name="issuer's reference")),
                ("holder_body", models.CharField(blank=True, max_length=160)),
                ("holder_person", models.CharField(blank=True, max_length=120)),
                (
                    "holder_account",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="papers_held",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("holder_address", models.TextField(blank=True, verbose_name="address it is bound to")),
                ("second_contact", models.CharField(blank=True, max_length=160)),
                (
                    "second_account",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="papers_seconded",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("transferable", models.BooleanField(default=False, verbose_name="continues when the holder leaves")),
                ("one_consignment", models.BooleanField(default=False, verbose_name="holds for one consignment")),
                ("issuer_contact", models.CharField(blank=True, max_length=160, verbose_name="contact at the issuer")),
                (
                    "partner",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="papers", to="registry.partner"
                    ),
                ),
                ("covers", models.TextField(verbose_name="what it covers, as written")),
                ("conditions", models.TextField(blank=True, verbose_name="conditions, as written")),
                ("cap_quantity", models.PositiveIntegerField(blank=True, null=True)),
                ("cap_unit", models.CharField(blank=True, max_length=20)),
                ("drawn", models.PositiveIntegerField(default=0, editable=False, verbose_name="drawn from the cap so far")),
                ("starts_on", models.DateField(blank=True, null=True)),
                ("ends_on", models.DateField(blank=True, null=True)),
                ("state", models.CharField(choices=registry.choices.permits.authorization_states, default="draft", max_length=10)),
                (
                    "basis",
                    models.TextField(
                        blank=True,
                        help_text="For a determination that no paper is needed: who was asked, and what was read.",
                        verbose_name="basis",
                    ),
                ),
                ("verified_on", models.DateField(blank=True, null=True, verbose_name="last checked with the issuer on")),
                ("verified_by", models.CharField(blank=True, max_length=80, verbose_name="checked by")),
                ("review_by", models.DateField(blank=True, null=True, verbose_name="ask again by")),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("starts_on__isnull", True), ("ends_on__isnull", True), ("ends_on__gte", models.F("starts_on")), _connector="OR"
                        ),
                        name="authorization_ends_after_start",
                        violation_error_message="The end date is before the start date.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("cap_quantity__isnull", True), models.Q(("cap_unit", ""), _negated=True), _connector="OR"),
                        name="authorization_cap_has_unit",
                        violation_error_message="A quantity cap needs its unit (seeds or plants).",
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
                ("task", models.CharField(choices=registry.choices.land.caution_tasks, max_length=12)),
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
                ("task", models.CharField(choices=registry.choices.land.caution_tasks, max_length=12)),
                ("hazard", models.CharField(max_length=80)),
                ("text", models.TextField()),
                ("decider", models.CharField(max_length=120, verbose_name="who decides locally")),
                ("months", models.JSONField(blank=True, default=list, verbose_name="months it applies to")),
                ("site_codes", models.JSONField(blank=True, default=list, verbose_name="sites it applies to")),
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
                ("kind", models.CharField(choices=registry.choices.land.land_notice_kinds, max_length=8)),
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
            name="PedigreeTree",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("backcrosses", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("intercrosses", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("generation_other", models.CharField(blank=True, help_text="native, donor, or another word", max_length=20)),
                ("code", models.CharField(max_length=40, unique=True)),
                ("taxon", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="trees", to="registry.taxon")),
                (
                    "mother",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="children_as_mother",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "father",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="children_as_father",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "pollen_pool",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="trees", to="registry.pollenpool"
                    ),
                ),
                ("cross_type", models.CharField(choices=registry.choices.pedigree.cross_types, default="unknown", max_length=12)),
                ("source_of_resistance", models.CharField(blank=True, max_length=40)),
                ("recurrent_line", models.CharField(blank=True, max_length=40)),
                ("orchard", models.CharField(blank=True, max_length=60)),
                ("block", models.CharField(blank=True, max_length=40)),
                ("plot", models.CharField(blank=True, max_length=40)),
                ("row", models.PositiveIntegerField(blank=True, null=True)),
                ("position", models.PositiveIntegerField(blank=True, null=True)),
                ("planted_year", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("first_flowering_year", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("status", models.CharField(choices=registry.choices.pedigree.tree_statuses, default="standing", max_length=10)),
                ("status_on", models.DateField(blank=True, null=True)),
                ("status_reason", models.TextField(blank=True)),
                ("regulated_engineered", models.BooleanField(default=False)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("backcrosses__isnull", False), ("generation_other", ""), ("intercrosses__isnull", False)),
                            models.Q(("backcrosses__isnull", True), ("intercrosses__isnull", True)),
                            _connector="OR",
                        ),
                        name="pedigreetree_generation_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("mother__isnull", True), models.Q(("mother", models.F("id")), _negated=True), _connector="OR"),
                            models.Q(("father__isnull", True), models.Q(("father", models.F("id")), _negated=True), _connector="OR"),
                        ),
                        name="pedigreetree_not_own_parent",
                        violation_error_message="A tree cannot be its own parent.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("father__isnull", True), ("pollen_pool__isnull", True), _connector="OR"),
                        name="pedigreetree_one_pollen_parent",
                        violation_error_message="Give a father or a pollen pool, not both.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("status", "standing"), models.Q(("status_reason", ""), _negated=True), _connector="OR"),
                        name="pedigreetree_status_has_reason",
                        violation_error_message="Give the reason why the tree is dead or rogued.",
                    ),
                ],
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
                ("ends_on", models.DateField(blank=True, null=True, verbose_name="valid until")),
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
        migrations.CreateModel(
            name="RuleVerification",
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
                    "requirement",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="verifications", to="registry.requirement"),
                ),
                ("verified_on", models.DateField(verbose_name="asked on")),
                ("verified_with", models.CharField(max_length=160, verbose_name="verified with (authority and person)")),
                ("verified_by", models.CharField(max_length=80, verbose_name="asked by")),
                ("review_by", models.DateField(blank=True, null=True, verbose_name="ask again by")),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="superseded_by",
                        to="registry.ruleverification",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is corrected")),
            ],
            options={
                "ordering": ["requirement", "verified_on", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="ruleverification_correction_has_reason",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SheetUpload",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("kind", models.CharField(max_length=30)),
                ("filename", models.CharField(max_length=200)),
                ("file", models.FileField(upload_to="sheets/%Y/")),
                ("sha256", models.CharField(max_length=64)),
                ("spec", models.JSONField(blank=True, default=dict)),
                (
                    "uploaded_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("uploaded_at", models.DateTimeField()),
                ("loaded_at", models.DateTimeField(blank=True, null=True)),
                ("outcome", models.JSONField(blank=True, default=dict)),
            ],
            options={
                "ordering": ["-uploaded_at"],
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
                ("how", models.CharField(choices=registry.choices.land.signed_hows, max_length=8)),
            ],
            options={
                "ordering": ["-signed_on", "-id"],
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
                ("state", models.CharField(choices=registry.choices.permits.authorization_states, max_length=10)),
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
                ("from_on", models.DateField(blank=True, null=True, verbose_name="in effect from")),
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
                        violation_error_message="The end date is before the start date.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("number", 0), models.Q(("from_on__isnull", False), models.Q(("reason", ""), _negated=True)), _connector="OR"
                        ),
                        name="authorizationversion_amendment_dated",
                        violation_error_message="Give the day the amendment takes effect and what was amended.",
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
                ("kind", models.CharField(choices=registry.choices.duties.duty_kinds, max_length=12)),
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
                ("recurrence", models.CharField(choices=registry.choices.duties.recurrences, default="once", max_length=14)),
                ("first_due_on", models.DateField(verbose_name="first due on")),
                ("every", models.PositiveSmallIntegerField(default=1, verbose_name="interval (months or years)")),
                ("season_month", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("season_day", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("days_before", models.PositiveSmallIntegerField(default=0, verbose_name="days before that day")),
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
            name="Lot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("backcrosses", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("intercrosses", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("generation_other", models.CharField(blank=True, help_text="native, donor, or another word", max_length=20)),
                ("code", models.CharField(max_length=40, unique=True)),
                ("kind", models.CharField(choices=registry.choices.lots.lot_kinds, max_length=5)),
                ("taxon", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="registry.taxon")),
                ("origin", models.CharField(choices=registry.choices.lots.lot_origins, max_length=8)),
                ("year", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="ripening or sowing year")),
                (
                    "mother",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots_as_mother",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "father",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots_as_father",
                        to="registry.pedigreetree",
                    ),
                ),
                (
                    "pollen_pool",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="registry.pollenpool"
                    ),
                ),
                ("cross_type", models.CharField(choices=registry.choices.pedigree.cross_types, default="unknown", max_length=12)),
                ("orchard_state", models.CharField(blank=True, help_text="which neighbours had been rogued at flowering", max_length=120)),
                (
                    "parent",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="raised_lots", to="registry.lot"
                    ),
                ),
                ("outside_origin", models.CharField(blank=True, max_length=200)),
                ("declared_source", models.CharField(blank=True, max_length=40, verbose_name="source of resistance as declared")),
                ("declared_line", models.CharField(blank=True, max_length=40, verbose_name="recurrent line as declared")),
                ("storage_place", models.CharField(blank=True, max_length=120)),
                ("use_by", models.DateField(blank=True, null=True)),
                ("note", models.TextField(blank=True)),
                ("balance", models.PositiveIntegerField(default=0, editable=False)),
                ("closed_on", models.DateField(blank=True, editable=False, null=True)),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("backcrosses__isnull", False), ("generation_other", ""), ("intercrosses__isnull", False)),
                            models.Q(("backcrosses__isnull", True), ("intercrosses__isnull", True)),
                            _connector="OR",
                        ),
                        name="lot_generation_whole",
                    ),
                    models.CheckConstraint(
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
                    models.CheckConstraint(
                        condition=models.Q(("parent__isnull", True), models.Q(("parent", models.F("id")), _negated=True), _connector="OR"),
                        name="lot_not_own_parent",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("father__isnull", True), ("pollen_pool__isnull", True), _connector="OR"),
                        name="lot_one_pollen_parent",
                        violation_error_message="Give a father or a pollen pool, not both.",
                    ),
                    models.CheckConstraint(condition=models.Q(("balance__gte", 0)), name="lot_balance_not_negative"),
                    models.CheckConstraint(
                        condition=models.Q(("closed_on__isnull", True), ("balance", 0), _connector="OR"), name="lot_closed_at_zero"
                    ),
                ],
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
                        help_text="Any unit, such as male flowers counted. Weigh every member or none.",
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
                ("method", models.CharField(choices=registry.choices.orchard.rating_methods, max_length=12)),
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
                "indexes": [models.Index(fields=["scale", "rated_on"], name="registry_ra_scale_i_3c4f4c_idx")],
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
                ("title", models.CharField(max_length=120, verbose_name="what to report")),
                ("tell", models.CharField(max_length=160, verbose_name="whom")),
                ("amount", models.PositiveSmallIntegerField()),
                ("unit", models.CharField(choices=registry.choices.duties.clock_units, max_length=12)),
                ("as_written", models.TextField(blank=True, verbose_name="as the paper says")),
            ],
            options={
                "ordering": ["authorization", "id"],
                "constraints": [models.UniqueConstraint(fields=("authorization", "title"), name="reportingclock_once")],
            },
        ),
        migrations.CreateModel(
            name="Shipment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                (
                    "receiver",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="shipments", to="registry.partner"),
                ),
                (
                    "state",
                    models.CharField(choices=registry.choices.movements.shipment_states, default="draft", editable=False, max_length=10),
                ),
                ("planned_on", models.DateField(blank=True, null=True)),
                ("dispatched_on", models.DateField(blank=True, null=True)),
                ("receiving_person", models.CharField(blank=True, max_length=120, verbose_name="person who receives it")),
                (
                    "site_code",
                    models.CharField(
                        blank=True, help_text="Code of the site, if it is meant for one.", max_length=40, verbose_name="for the site"
                    ),
                ),
                (
                    "origin_region",
                    models.CharField(blank=True, help_text="Such as US-VT.", max_length=10, verbose_name="leaves from (ISO 3166)"),
                ),
                ("transit_regions", models.JSONField(blank=True, default=list, verbose_name="by way of (ISO 3166)")),
                ("arrives_on", models.DateField(blank=True, null=True, verbose_name="expected to arrive on")),
                ("done_by", models.JSONField(blank=True, default=list, verbose_name="who sends it")),
                ("carrier", models.CharField(blank=True, max_length=80)),
                (
                    "handling",
                    models.CharField(blank=True, help_text="printed on the box, such as KEEP 1–4 °C, DO NOT FREEZE", max_length=200),
                ),
                ("note", models.TextField(blank=True)),
                ("authorizations", models.ManyToManyField(blank=True, related_name="shipments", to="registry.authorization")),
            ],
            options={
                "ordering": ["-dispatched_on", "code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "dispatched"), _negated=True), ("dispatched_on__isnull", False), _connector="OR"
                        ),
                        name="shipment_dispatched_has_date",
                    )
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
                ("status", models.CharField(choices=registry.choices.pedigree.tree_statuses, max_length=10)),
                ("on", models.DateField(blank=True, null=True)),
                ("reason", models.TextField(blank=True)),
                ("stump_treated", models.BooleanField(blank=True, null=True, verbose_name="stump treated")),
            ],
            options={
                "ordering": ["tree", "on", "id"],
            },
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
                ("kind", models.CharField(choices=registry.choices.permits.draw_kinds, max_length=8)),
                (
                    "lot",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="draws", to="registry.lot"
                    ),
                ),
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
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "opening"), ("lot__isnull", True)),
                            models.Q(models.Q(("kind", "opening"), _negated=True), ("lot__isnull", False)),
                            _connector="OR",
                        ),
                        name="authorizationdraw_lot_unless_opening",
                    ),
                ],
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
                ("carried_out", models.BooleanField(default=False, verbose_name="dispatched or planted under this answer")),
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
                "indexes": [models.Index(fields=["subject", "activity"], name="registry_de_subject_d5a4a0_idx")],
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
                        violation_error_message="Give the evidence that it was done.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("supersedes__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"),
                        name="dutydone_correction_has_reason",
                    ),
                ],
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
                ("kind", models.CharField(choices=registry.choices.identity.evidence_kinds, max_length=10)),
                ("outcome", models.CharField(choices=registry.choices.identity.evidence_outcomes, max_length=12)),
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
                ("settlement", models.CharField(blank=True, choices=registry.choices.identity.settlements, max_length=10)),
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
                        violation_error_message="To settle the question, give the date, the outcome and how it was settled.",
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
                ("zone", models.CharField(blank=True, max_length=40, verbose_name="time zone of the place")),
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
            name="IssuedPrint",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                ("entered_at", models.DateTimeField()),
                ("kind", models.CharField(choices=registry.choices.prints.issued_kinds, max_length=14)),
                ("title", models.CharField(max_length=160)),
                ("filename", models.CharField(max_length=160)),
                ("sha256", models.CharField(max_length=64)),
                ("size_bytes", models.PositiveIntegerField()),
                ("lots", models.ManyToManyField(blank=True, related_name="issued_prints", to="registry.lot")),
                ("shipments", models.ManyToManyField(blank=True, related_name="issued_prints", to="registry.shipment")),
                ("trees", models.ManyToManyField(blank=True, related_name="issued_prints", to="registry.pedigreetree")),
                ("authorizations", models.ManyToManyField(blank=True, related_name="issued_prints", to="registry.authorization")),
            ],
            options={
                "ordering": ["-entered_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="LotComponent",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("bulk", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="components", to="registry.lot")),
                (
                    "component",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="bulked_into", to="registry.lot"),
                ),
                ("count", models.PositiveIntegerField()),
                ("bulked_on", models.DateField()),
                ("reason", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["bulk", "component"],
                "constraints": [
                    models.UniqueConstraint(fields=("bulk", "component"), name="lotcomponent_once"),
                    models.CheckConstraint(
                        condition=models.Q(("bulk", models.F("component")), _negated=True), name="lotcomponent_not_itself"
                    ),
                    models.CheckConstraint(condition=models.Q(("count__gt", 0)), name="lotcomponent_count_positive"),
                ],
            },
        ),
        migrations.CreateModel(
            name="MaterialClass",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("title", models.CharField(max_length=160)),
                ("rule", models.CharField(choices=registry.choices.gate.class_rules, max_length=16)),
                ("taxa", models.JSONField(blank=True, default=list, verbose_name="binomials or genera")),
                ("forms", models.JSONField(blank=True, default=list)),
                ("is_inherited", models.BooleanField(default=False, verbose_name="seed inherits it from its parents")),
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
                        violation_error_message="Give a tree or a lot, not both.",
                    ),
                    models.CheckConstraint(condition=models.Q(("donor_share__gte", 0), ("donor_share__lte", 1)), name="measuredshare_0_1"),
                    models.CheckConstraint(condition=models.Q(("sample_size__gt", 0)), name="measuredshare_sample_positive"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Receipt",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "taken_back_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("taken_back_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("taken_back_reason", models.CharField(blank=True, editable=False, max_length=200)),
                (
                    "shipment",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="receipts", to="registry.shipment"),
                ),
                ("received_on", models.DateField()),
                ("received_by", models.CharField(max_length=120)),
                ("box_condition", models.CharField(choices=registry.choices.movements.box_conditions, max_length=10)),
                ("temperature_c", models.FloatField(blank=True, null=True, verbose_name="temperature in the box (°C)")),
                ("note", models.TextField(blank=True)),
                (
                    "entered_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["-received_on", "id"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("taken_back_at__isnull", True)),
                        fields=("shipment", "received_on"),
                        name="receipt_once_a_day",
                        violation_error_message="A receipt of this day is already on file for this shipment. Take it back first if it is wrong.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("taken_back_at__isnull", True), ("taken_back_by__isnull", True), ("taken_back_reason", "")),
                            models.Q(
                                ("taken_back_at__isnull", False),
                                ("taken_back_by__isnull", False),
                                models.Q(("taken_back_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="receipt_taken_back_whole",
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
                ("decision", models.CharField(choices=registry.choices.orchard.decisions, max_length=8)),
                ("decided_on", models.DateField()),
                ("evidence", models.TextField()),
                ("method", models.CharField(blank=True, max_length=160)),
                ("first_name", models.CharField(max_length=80, verbose_name="decided by")),
                ("second_name", models.CharField(max_length=80, verbose_name="agreed by")),
                ("warnings", models.JSONField(blank=True, default=list, verbose_name="diversity warnings shown")),
                (
                    "warnings_answer",
                    models.CharField(blank=True, max_length=300, verbose_name="reason for going ahead despite the warnings"),
                ),
                ("needs_second", models.BooleanField(blank=True, null=True, verbose_name="the second person confirms it")),
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
                        violation_error_message="This decision breaks a diversity floor. Give the reason for going ahead.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ShipmentLine",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("shipment", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="lines", to="registry.shipment")),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="shipment_lines", to="registry.lot")),
                ("form", models.CharField(choices=registry.choices.movements.material_forms, max_length=10)),
                ("quantity", models.PositiveIntegerField()),
                ("draw_on", models.JSONField(blank=True, default=list, verbose_name="goes under the papers")),
            ],
            options={
                "ordering": ["shipment", "lot"],
                "constraints": [
                    models.UniqueConstraint(fields=("shipment", "lot", "form"), name="shipmentline_once"),
                    models.CheckConstraint(condition=models.Q(("quantity__gt", 0)), name="shipmentline_quantity_positive"),
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
                ("kind", models.CharField(choices=registry.choices.lots.treatment_kinds, max_length=10)),
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
                        violation_error_message="The end is before the start.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minutes__isnull", True), ("minutes__gt", 0), _connector="OR"),
                        name="treatment_minutes_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="DecisionLink",
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
                    "decision",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="links", to="registry.selectiondecision"),
                ),
                ("token_sha256", models.CharField(max_length=64, unique=True)),
                ("ends_on", models.DateField(verbose_name="good until")),
            ],
            options={
                "ordering": ["-entered_at", "-id"],
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
            name="LedgerEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("lot", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="ledger", to="registry.lot")),
                ("kind", models.CharField(choices=registry.choices.lots.ledger_kinds, max_length=14)),
                ("quantity", models.IntegerField(verbose_name="quantity (seeds or plants; losses negative)")),
                ("on", models.DateField()),
                ("mass_g", models.FloatField(blank=True, null=True)),
                (
                    "counterpart",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="registry.lot"
                    ),
                ),
                (
                    "shipment_line",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="ledger",
                        to="registry.shipmentline",
                    ),
                ),
                (
                    "reverses",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reversed_by",
                        to="registry.ledgerentry",
                    ),
                ),
                (
                    "reference",
                    models.CharField(
                        blank=True, help_text="your own number for this entry; loading it again changes nothing", max_length=60
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200)),
                (
                    "entered_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["on", "id"],
                "verbose_name_plural": "ledger entries",
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("quantity", 0), _negated=True), name="ledgerentry_not_zero"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("reverses__isnull", False),
                            ("kind", "counted"),
                            models.Q(
                                ("kind__in", ("harvested", "acquired", "raised", "bulked_in", "split_in", "received_back")),
                                ("quantity__gt", 0),
                            ),
                            models.Q(
                                (
                                    "kind__in",
                                    ("discarded", "sampled", "bulked_out", "split_out", "sown", "shipped", "planted", "destroyed"),
                                ),
                                ("quantity__lt", 0),
                            ),
                            _connector="OR",
                        ),
                        name="ledgerentry_sign_by_kind",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("reverses__isnull", True), models.Q(("kind", "counted"), _negated=True)),
                            models.Q(("reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="ledgerentry_reason_given",
                        violation_error_message="A reversal or a stock-take difference needs a reason.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("mass_g__isnull", True), ("mass_g__gt", 0), _connector="OR"), name="ledgerentry_mass_positive"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("reference", ""), _negated=True), fields=("lot", "reference"), name="ledgerentry_reference_once"
                    ),
                ],
                "indexes": [models.Index(fields=["lot", "on"], name="registry_le_lot_id_55faff_idx")],
            },
        ),
        migrations.CreateModel(
            name="Leftover",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "taken_back_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("taken_back_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("taken_back_reason", models.CharField(blank=True, editable=False, max_length=200)),
                (
                    "line",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="leftovers", to="registry.shipmentline"),
                ),
                ("outcome", models.CharField(choices=registry.choices.movements.leftover_outcomes, max_length=10)),
                ("count", models.PositiveIntegerField()),
                ("on", models.DateField()),
                ("note", models.TextField(blank=True)),
                (
                    "entered_by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL),
                ),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["-on", "id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("count__gt", 0)), name="leftover_count_positive"),
                    models.UniqueConstraint(
                        condition=models.Q(("taken_back_at__isnull", True)),
                        fields=("line", "outcome", "on"),
                        name="leftover_once_a_day",
                        violation_error_message="A leftover of this day with this outcome is already on file. Take it back first if it is wrong.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("taken_back_at__isnull", True), ("taken_back_by__isnull", True), ("taken_back_reason", "")),
                            models.Q(
                                ("taken_back_at__isnull", False),
                                ("taken_back_by__isnull", False),
                                models.Q(("taken_back_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="leftover_taken_back_whole",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ReceiptLine",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("receipt", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="registry.receipt")),
                (
                    "line",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="receipt_lines", to="registry.shipmentline"
                    ),
                ),
                ("sound", models.PositiveIntegerField(default=0)),
                ("sprouted", models.PositiveIntegerField(default=0)),
                ("spoiled", models.PositiveIntegerField(default=0)),
            ],
            options={
                "ordering": ["receipt", "line"],
                "constraints": [models.UniqueConstraint(fields=("receipt", "line"), name="receiptline_once")],
            },
        ),
        migrations.CreateModel(
            name="DecisionAgreement",
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
                    "decision",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="agreement", to="registry.selectiondecision"
                    ),
                ),
                ("how", models.CharField(choices=registry.choices.orchard.agreed_hows, max_length=8)),
                (
                    "link",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="registry.decisionlink"
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("entered_by__isnull", False), ("how", "account"), ("link__isnull", True)),
                            models.Q(("how", "link"), ("link__isnull", False)),
                            _connector="OR",
                        ),
                        name="decisionagreement_how",
                    )
                ],
            },
        ),
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
                ("fruits", models.PositiveIntegerField(blank=True, null=True, verbose_name="fruits picked")),
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
                ("kind", models.CharField(choices=registry.choices.lots.seed_test_kinds, max_length=12)),
                ("tested_on", models.DateField()),
                ("tested_by", models.CharField(max_length=80)),
                ("seeds", models.PositiveIntegerField(blank=True, null=True, verbose_name="seeds in the sample")),
                ("sound", models.PositiveIntegerField(blank=True, null=True, verbose_name="sound (float: sank)")),
                ("infested", models.PositiveIntegerField(blank=True, null=True, verbose_name="with insects")),
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
                    models.CharField(
                        blank=True, choices=registry.choices.lots.moisture_feels, max_length=5, verbose_name="moisture by feel"
                    ),
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
                ("by", models.CharField(max_length=80, verbose_name="checked by")),
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
                        violation_error_message="Enter a percentage from 0 to 100.",
                    )
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
        migrations.RunPython(finish_tables, migrations.RunPython.noop),
        migrations.RunPython(*protect_again(*(f"registry_{name}" for name in APPEND_ONLY))),
        migrations.RunPython(begin_audit_trail, migrations.RunPython.noop),
    ]
