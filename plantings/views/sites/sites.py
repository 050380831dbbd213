"""Sites: the list, the page of a site, its forms; layers of jurisdictions."""

from urllib.parse import urlencode

from django.contrib import messages
from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import FormView

from plantings.choices import SiteStatus
from plantings.forms.sites import BoundaryForm, BoundaryLayerForm, BoundaryWithdrawForm, SiteFilters, SiteForm
from plantings.imports.general_sheets import GeneralSiteSheet
from plantings.imports.sites import SiteSheet
from plantings.models import BoundaryLayer, Planting, Site
from plantings.selectors.plantings.plantings import exact_for, plantings_listed, site_position, sites_listed
from plantings.services.sites import BY_HAND, boundary_layer_add, boundary_layer_withdraw, site_save, site_set_boundary
from registry.access.active import is_present
from registry.models import Person
from registry.views.shared.generic import RecordActionView, RecordDetailView, ServiceFormMixin, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table

PLANTING_LISTS = (
    ("Plantings", "planting.view", "planting_list"),
    ("Sites", "site.view", "site_list"),
    ("Trees", "tree.view", "tree_list"),
    ("Census rounds", "round.view", "round_list"),
    ("Cautions", "caution.view", "cautiontext_list"),
    ("Jurisdiction layers", "boundary.edit", "boundary_list"),
)


def site_url(site):
    return reverse_to("site_detail", site.pk)


def alive_words(planting):
    """How many trees lived at the last round; nothing where there was none yet."""
    return planting.alive_count if planting.last_round else None


def text_lines(text):
    return [line.strip() for line in text.splitlines() if line.strip()]


def site_cautions(site):
    """The caution box of a site, or none when nobody wrote any."""
    lines = text_lines(site.cautions)
    decider = "the crew lead; the local manager may stop work"
    return [{"title": f"Cautions at {site.code}", "lines": lines, "decider": decider}] if lines else []


class SiteListView(SectionListView):
    model = Site
    action = "site.view"
    title = "Sites"
    question = "Where do trees stand, on whose land, and which sites are closed?"
    unit = "sites"
    filter_form = SiteFilters
    others = PLANTING_LISTS
    add = ("New site", "site.edit", "site_add")
    empty = ("No site yet", "A site is a place on a partner's land. Enter the partner first, then the site with its point.", None)
    columns = (
        Column("Site", "code", kind="code", url=site_url),
        Column("Name", "name"),
        Column("Partner", "partner.name"),
        Column("Jurisdiction", "jurisdiction"),
        Column("Plantings", "plantings_count", "right", "number"),
        Column("Status", "get_status_display", kind="state"),
        Column("Why it is closed", "status_reason", kind="soft"),
    )

    @cached_property
    def sheet(self):
        return SiteSheet if exact_for(self.request.user) else GeneralSiteSheet

    def get_queryset(self):
        return sites_listed(super().get_queryset(), self.request.user)

    def row_mark(self, site):
        return "soft" if site.status == SiteStatus.CLOSED else ""


class SiteDetailView(RecordDetailView):
    model = Site
    action = "site.view"
    question = "Where is it, what stands there, and what must somebody who goes there know?"

    def get_queryset(self):
        return super().get_queryset().select_related("partner")

    def get_page(self):
        site, user = self.object, self.request.user
        self.exact = exact_for(user)
        self.position = site_position(site, exact=self.exact)
        closed = site.status == SiteStatus.CLOSED
        return {
            "code": site.code,
            "state": site.get_status_display(),
            "where": site.status_reason if closed else site.jurisdiction,
            "cautions": site_cautions(site),
            "due": self.get_due(),
            "actions": allowed(
                user,
                ("Add a planting", "planting.edit", f"{reverse_to('planting_add')}?{urlencode({'site': site.code})}"),
                ("Upload the boundary", "site.edit", reverse_to("site_boundary", site.pk)),
                ("Change the site", "site.edit", reverse_to("site_edit", site.pk)),
            ),
            "facts": self.get_facts(),
            "parts": [self.plantings_table(), self.people_table()],
        }

    def get_due(self):
        site, lines = self.object, []
        if site.longitude is None:
            lines.append({"severity": "odd", "text": "No point is recorded, so the jurisdiction is not known."})
        elif not site.jurisdiction_basis.startswith(("inside:", BY_HAND)) or "2 km" in site.jurisdiction_basis:
            text = "The jurisdiction needs a look: see its basis below. A person who knows the place may set it by hand."
            lines.append({"severity": "odd", "text": text, "url": link(self.request.user, "site.edit", "site_edit", site.pk)})
        return lines

    def get_facts(self):
        site, user = self.object, self.request.user
        facts = [
            ("Partner", site.partner.name, link(user, "partner.view", "partner_detail", site.partner_id)),
            ("Point" if self.exact else "Point, generalised", self.position.words, None),
            *([("What was generalised", self.position.note, None)] if self.position.note else []),
            ("Jurisdiction", site.jurisdiction, None),
            ("How it was found", site.jurisdiction_basis, None),
            ("Area inside the boundary", f"{site.area_m2 / 10_000:,.2f} ha" if site.area_m2 is not None else "", None),
            ("Elevation", f"{site.elevation_m:g} m" if site.elevation_m is not None else "", None),
            ("Light", site.light, None),
            ("Soil", site.soil, None),
            ("Disease history", site.disease_history, None),
            ("Protection", site.protection, None),
        ]
        if self.exact:  # access notes lead to the place as surely as its point
            facts.append(("Access", site.access_notes, None))
        return facts

    def plantings_table(self):
        columns = (
            Column("Planting", "code", kind="code", url=lambda planting: reverse_to("planting_detail", planting.pk)),
            Column("Planted on", "planted_on", kind="date"),
            Column("State", "get_state_display", kind="state"),
            Column("Planted (count)", "planted_count", "right", "number"),
            Column("Trees alive at the last round", alive_words, "right", "number"),
            Column("Last round", "last_round"),
        )
        plantings = plantings_listed(self.scoped(Planting).filter(site=self.object))
        return ledger_table("Plantings", columns, plantings, unit="plantings", empty="Nothing is planted here yet.")

    def people_table(self):
        """Who goes there and whose land it is; how to reach them only for those who may keep contacts."""
        partner, user = self.object.partner, self.request.user
        plantings = self.scoped(Planting).filter(site=self.object)
        people = [(person, "on the crew") for person in Person.objects.filter(plantings__in=plantings).distinct().order_by("username")]
        here = [person for person in partner.people.order_by("username") if is_present(person, timezone.localdate())]
        people += [(person, "for the landowner") for person in here]
        columns = [
            Column("Person", lambda line: str(line[0]), url=lambda line: link(user, "person.view", "person_detail", line[0].pk)),
            Column("Part", lambda line: line[1]),
        ]
        if user.may("person.view"):
            columns += [Column("Telephone", lambda line: line[0].phone), Column("Mail", lambda line: line[0].email)]
        note = ""
        if user.may("partner.contact") and partner.contact_name:
            note = f"Contact of the partner: {', '.join(filter(None, (partner.contact_name, partner.phone, partner.email)))}."
        return ledger_table("People", columns, people, unit="people", note=note, empty="Nobody is on a crew here yet.")


class SiteFormView(SectionFormView):
    model = Site
    action = "site.edit"
    form_class = SiteForm
    question = "Where is it, on whose land, and what must somebody who goes there know?"

    def save(self, record, many, form):
        return site_save(
            actor=self.request.user, site=record, jurisdiction=form.cleaned_data["jurisdiction"], reason=form.cleaned_data["reason"]
        )


class SiteBoundaryView(RecordActionView):
    model = Site
    action = "site.edit"
    form_class = BoundaryForm
    question = "What is the outline of this site?"
    submit_label = "Read the boundary"

    def get_title(self):
        return f"Boundary of {self.object.code}"

    def perform(self, form):
        file = form.cleaned_data["file"]
        return site_set_boundary(
            actor=self.request.user, site=self.object, content=file.read(), filename=file.name,
            source_crs=form.cleaned_data["source_crs"], layer=form.cleaned_data["layer"],
        )  # fmt: skip

    def get_success_message(self):
        for note in self.result.notes:
            messages.warning(self.request, note)
        return f"Boundary stored: {self.result.area_m2 / 10_000:,.2f} ha, measured on the ellipsoid."


class BoundaryListView(SectionListView):
    model = BoundaryLayer
    action = "boundary.edit"
    title = "Jurisdiction layers"
    question = "Which layers are the jurisdictions of sites looked up in?"
    unit = "layers"
    others = PLANTING_LISTS
    add = ("Add a layer", "boundary.edit", "boundary_add")
    empty = (
        "No layer of your own yet",
        "The states of the United States and the countries of the world come with this site, drawn coarsely. Add a finer layer, or one of "
        "provinces or districts; it is asked before them.",
        None,
    )
    columns = (
        Column("Layer", "name"),
        Column("Where it comes from", "source"),
        Column("Column with the codes", "code_column", kind="code"),
        Column("Column with the names", "name_column", kind="code"),
        Column("Wrong or out of date", lambda layer: "Withdraw", url=lambda layer: reverse_to("boundary_withdraw", layer.pk)),
    )


class BoundaryAddView(ServiceFormMixin, FormView):
    action = "boundary.edit"
    form_class = BoundaryLayerForm
    title = "Add a layer of jurisdictions"
    question = "Which areas, with which codes, from which source?"
    submit_label = "Add the layer and look at every site again"

    def perform(self, form):
        file = form.cleaned_data.pop("file")
        return boundary_layer_add(actor=self.request.user, content=file.read(), filename=file.name, **form.cleaned_data)

    def get_success_message(self):
        layer, changed = self.result
        return f"Layer {layer.name} added. {_found_anew(changed)}"

    def get_success_url(self):
        return reverse_to("boundary_list")

    get_cancel_url = get_success_url


class BoundaryWithdrawView(RecordActionView):
    model = BoundaryLayer
    action = "boundary.edit"
    form_class = BoundaryWithdrawForm
    question = "Why is this layer asked no more?"
    submit_label = "Withdraw the layer and look at every site again"

    def get_title(self):
        return f"Withdraw the layer {self.object.name}"

    def perform(self, form):
        return boundary_layer_withdraw(actor=self.request.user, layer=self.object, reason=form.cleaned_data["reason"])

    def get_success_message(self):
        return f"The layer is withdrawn. {_found_anew(self.result)}"

    def get_cancel_url(self):
        return reverse_to("boundary_list")


def _found_anew(sites):
    codes = ", ".join(f"{site.code} ({site.jurisdiction or 'none'})" for site in sites[:10])
    more = f" and {len(sites) - 10} more" if len(sites) > 10 else ""
    return f"Jurisdictions found anew: {codes}{more}." if sites else "No site lies in another jurisdiction by it."
