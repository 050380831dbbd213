from django.conf import settings
from django.db import models
from django.db.models import Q

from plantings import choices
from registry.access import roles
from registry.access.scoping import READERS, STAFF, ScopedQuerySet
from registry.models import Authorization, Partner
from registry.models.shared.check_constraints import CheckConstraint
from registry.models.shared.part_date_field import PartDateField

# Both coordinates or none; "is not null" is said, since a comparison with nothing would pass a CHECK.
POINT_RULE = Q(longitude__isnull=True, latitude__isnull=True) | Q(
    longitude__isnull=False, latitude__isnull=False, longitude__gte=-180, longitude__lte=180, latitude__gte=-90, latitude__lte=90
)


class Site(models.Model):
    """A place where trees are planted: a point, perhaps a boundary, on a partner's land."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    partner = models.ForeignKey(Partner, on_delete=models.PROTECT, related_name="sites")
    longitude = models.FloatField(null=True, blank=True)
    latitude = models.FloatField(null=True, blank=True)
    boundary = models.JSONField(null=True, blank=True, editable=False)
    area_m2 = models.FloatField(null=True, blank=True, editable=False)
    jurisdiction = models.CharField("jurisdiction (ISO 3166-2)", max_length=10, blank=True, editable=False)
    jurisdiction_basis = models.CharField(max_length=160, blank=True, editable=False)
    county = models.CharField(max_length=60, blank=True, editable=False)
    county_basis = models.CharField(max_length=160, blank=True, editable=False)
    near = models.JSONField("too near to tell apart (place patterns)", default=list, blank=True, editable=False)
    areas = models.JSONField("areas of added layers it lies in", default=list, blank=True, editable=False)
    elevation_m = models.FloatField(null=True, blank=True)
    light = models.CharField(max_length=120, blank=True)
    soil = models.CharField(max_length=120, blank=True)
    disease_history = models.TextField(blank=True)
    protection = models.TextField(blank=True)
    access_notes = models.TextField(blank=True)
    access_notes_fr = models.TextField("access in French", blank=True)
    cautions = models.TextField(blank=True)
    cautions_fr = models.TextField("cautions in French", blank=True)
    status = models.CharField(max_length=10, choices=choices.site_statuses, default=choices.SiteStatus.ACTIVE)
    status_reason = models.CharField(max_length=200, blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "partner", roles.VOLUNTEER: "plantings__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            CheckConstraint(
                condition=POINT_RULE,
                name="site_point_on_earth",
                violation_error_message="Give both longitude (−180 to 180) and latitude (−90 to 90), or neither.",
            ),
            CheckConstraint(
                condition=~Q(status=choices.SiteStatus.CLOSED) | ~Q(status_reason=""),
                name="site_closed_has_reason",
                violation_error_message="Say why the site is closed. A closed site stays in every table.",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.name}"


class Planting(models.Model):
    """An established set of trees at a site, with its design and walk order."""

    code = models.CharField(max_length=40, unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="plantings")
    planted_on = PartDateField(null=True, blank=True)
    state = models.CharField(max_length=12, choices=choices.planting_states, default=choices.PlantingState.PLANNED)
    supply = models.CharField(max_length=15, choices=choices.supplies, default=choices.Supply.SHIPMENT)
    stock_type = models.CharField(max_length=60, blank=True)
    # such as a list from which the dead were dropped: its trees have records, and no survival can be worked out from them
    trees_left_out = models.BooleanField("some planted trees are not on record", default=False)
    design = models.CharField(max_length=160, blank=True)
    spacing_m = models.FloatField(null=True, blank=True)
    start_corner = models.CharField(max_length=80, blank=True)
    start_corner_fr = models.CharField("start corner in French", max_length=100, blank=True)
    walk = models.CharField("walk order", max_length=12, choices=choices.walk_orders, default=choices.WalkOrder.SERPENTINE)
    crew = models.ManyToManyField(settings.AUTH_USER_MODEL, blank=True, related_name="plantings")
    authorizations = models.ManyToManyField(Authorization, blank=True, related_name="plantings")
    done_by = models.JSONField("who plants", default=list, blank=True)
    note = models.TextField(blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "site__partner", roles.VOLUNTEER: "crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            CheckConstraint(
                condition=Q(state=choices.PlantingState.PLANNED) | Q(planted_on__isnull=False),
                name="planting_established_has_date",
                violation_error_message="An established planting needs the date it was planted.",
            ),
            CheckConstraint(condition=Q(spacing_m__isnull=True) | Q(spacing_m__gt=0), name="planting_spacing_positive"),
        ]

    def __str__(self):
        return self.code


class Block(models.Model):
    """A block or plot of a planting, with its own point where somebody took one."""

    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, related_name="blocks")
    code = models.CharField(max_length=40)
    longitude = models.FloatField(null=True, blank=True)
    latitude = models.FloatField(null=True, blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "planting__site__partner", roles.VOLUNTEER: "planting__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["planting", "code"]
        constraints = [
            models.UniqueConstraint(fields=["planting", "code"], name="block_code_once"),
            CheckConstraint(
                condition=POINT_RULE,
                name="block_point_on_earth",
                violation_error_message="Give both longitude (−180 to 180) and latitude (−90 to 90), or neither.",
            ),
        ]

    def __str__(self):
        return f"{self.planting}/{self.code}"


class BoundaryLayer(models.Model):
    """A layer of jurisdictions or of protected areas that an administrator added, stored as GeoJSON in WGS 84."""

    kind = models.CharField(max_length=12, choices=choices.layer_kinds, default=choices.LayerKind.JURISDICTIONS)
    name = models.CharField(max_length=80, unique=True)
    code_column = models.CharField(max_length=60)
    name_column = models.CharField(max_length=60, blank=True)
    source = models.CharField(max_length=200)
    file = models.FileField(upload_to="boundaries/")

    SCOPE = STAFF
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name
