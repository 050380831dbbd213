"""Sites: the list, the page of a site, its forms; layers of jurisdictions."""

from django.contrib import messages
from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.generic import FormView

from plantings.choices import SiteStatus
from plantings.forms.sites import BoundaryLayerForm, BoundaryWithdrawForm, SiteBoundaryForm, SiteFilters, SiteForm
from plantings.imports.general_sheets import GeneralSiteSheet
from plantings.imports.sites.sites import SiteSheet
from plantings.maps.basis_words import basis_sentences
from plantings.models import BoundaryLayer, Planting, Site
from plantings.selectors.plantings.plantings import exact_for, last_round_words, plantings_listed, site_position, sites_listed
from plantings.selectors.sites.local_texts import SITE_TEXTS, access_text, caution_texts, text_not_in
from plantings.selectors.sites.places import BY_HAND
from plantings.services.sites import boundary_layer_add, boundary_layer_withdraw, site_save, site_set_boundary
from plantings.views.plantings.planted import planted_column
from registry.access.active import is_active_on
from registry.calc.shared.links import tel_address
from registry.models import Person
from registry.selectors.duties.duty_line import Duty
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_list, local_number
from registry.views.shared.addresses import link, record_url, reverse_to
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView, ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

PLANTING_LISTS = (
    (_("Plantings"), "planting.view", "planting_list"),
    (_("Sites"), "site.view", "site_list"),
    (_("Trees"), "tree.view", "tree_list"),
    (_("Census rounds"), "round.view", "round_list"),
    (_("Coverage"), "round.view", "round_coverage"),
    ("Protocols", "protocol.view", "protocol_list"),
    ("Own measurements", "protocol.view", "ownmeasurement_list"),
    (_("Cautions"), "caution.view", "cautiontext_list"),
    ("Jurisdiction layers", "boundary.edit", "boundary_list"),
)


def site_cautions(site):
    """The caution box of a site; none where no caution is recorded."""
    lines = caution_texts(site)
    decider = gettext("the crew lead; the local manager may stop work")
    return [{"title": gettext("Cautions at %(site)s") % {"site": site.code}, "lines": lines, "decider": decider}] if lines else []


class SiteListView(RecordListView):
    model = Site
    action = "site.view"
    title = _("Sites")
    question = _("Where are trees planted, on whose land, and which sites are closed?")
    filter_form = SiteFilters
    others = PLANTING_LISTS
    add = ("New site", "site.edit", "site_add")
    empty = (_("No site yet"), _("A site is a place on a partner's land. Enter the partner first, then the site with its point."), None)
    row_mark = staticmethod(lambda site: "soft" if site.status == SiteStatus.CLOSED else "")
    columns = (
        Column(_("Site"), "code", kind="code", url=record_url),
        Column(_("Name"), "name"),
        Column(_("Status"), "get_status_display", kind="state"),
        Column(_("Partner"), "partner.name"),
        Column(_("Jurisdiction"), "jurisdiction"),
        Column(_("Plantings"), "plantings_count", "right", "number"),
        Column(_("Why it is closed"), "status_reason", kind="soft", wide=True),
    )

    sheet = cached_property(lambda page: SiteSheet if exact_for(page.user) else GeneralSiteSheet)

    def read(self, sites):
        return sites_listed(sites, self.user)


def _status_or_place(page):
    site = page.object
    return site.status_reason if site.status == SiteStatus.CLOSED else site.jurisdiction


class SiteDetailView(RecordDetailView):
    model = Site
    action = "site.view"
    question = _("Where is it, what is planted there, and what must somebody who goes there know?")
    related = ("partner",)
    state = "get_status_display"
    where = property(_status_or_place)
    cautions = property(lambda page: site_cautions(page.object))
    facts = (
        Fact(_("Partner"), "partner.name", lambda page: link(page.user, "partner.view", "partner_detail", page.object.partner_id)),
        Fact(
            lambda page: _("Point") if page.exact else _("Point, generalised"),
            lambda page: page.position.words,
            lambda page: page.position.geo,
            always=True,
        ),
        Fact(_("Coordinates to copy"), lambda page: page.position.decimal),
        Fact(_("What was generalised"), lambda page: page.position.note),
        Fact(_("Contact of the partner"), lambda page: page.contact_words, may="partner.contact"),
        Fact(_("Call the partner"), "partner.phone", lambda page: tel_address(page.object.partner.phone), may="partner.contact"),
        Fact(_("Jurisdiction"), "jurisdiction", always=True),
        Fact(_("How it was found"), lambda page: _basis_words(page.object.jurisdiction_basis)),
        Fact(_("County"), "county"),
        Fact(_("How the county was found"), lambda page: _basis_words(page.object.county_basis)),
        Fact(_("Protected and other areas"), lambda page: ", ".join(page.object.areas)),
        Fact(_("Area inside the boundary"), lambda page: _hectares(page.object)),
        Fact(_("Elevation"), lambda page: local_number(f"{page.object.elevation_m:g} m") if page.object.elevation_m is not None else ""),
        Fact(_("Light on the site"), "light"),
        Fact(_("Soil"), "soil"),
        Fact(_("Disease history"), "disease_history"),
        Fact(_("Protection"), "protection"),
        # access notes lead to the place as surely as its point
        Fact(_("Access"), lambda page: access_text(page.object) if page.exact else ""),
        Fact("Access in French", lambda page: page.object.access_notes_fr if page.exact else "", may="site.edit"),
        Fact("Cautions in French", "cautions_fr", may="site.edit"),
        Fact("Not on file in French", lambda page: _not_in_french(page.object), may="site.edit"),
    )
    actions = (
        Action("Add a planting", "planting_add", "planting.edit", key=None, query=lambda page: {"site": page.object.code}),
        Action("Upload the boundary", "site_boundary", "site.edit"),
        Action("Change the site", "site_edit", "site.edit"),
    )
    sections = (
        Section(
            title=_("Plantings"),
            unit="plantings",
            rows=lambda page: plantings_listed(page.plantings),
            columns=(
                Column(_("Planting"), "code", kind="code", url=Link("planting_detail")),
                Column(_("Planted on"), "planted_on", kind="date"),
                Column(_("State"), "get_state_display", kind="state"),
                planted_column("planted_count"),
                Column(_("Trees alive at the last complete round"), "alive_count", "right", "number"),
                Column(_("From sown seed"), "sown_alive_count", "right", "number"),
                Column(_("Last round"), last_round_words),
            ),
            missing=_("plantings"),
        ),
        Section(
            title=_("People"),
            unit="people",
            rows=lambda page: page.people,
            columns=(
                Column(_("Person"), lambda line: str(line[0]), url=Link("person_detail", "0.pk", "person.view")),
                Column(_("Part"), "1"),
                Column("Telephone", "0.phone", may="person.view", url=lambda line: tel_address(line[0].phone)),
                Column("Mail", "0.email", may="person.view"),
            ),
            missing=_("a crew"),
        ),
    )

    exact = cached_property(lambda page: exact_for(page.user))
    position = cached_property(lambda page: site_position(page.object, exact=page.exact))
    plantings = cached_property(lambda page: page.scoped(Planting).filter(site=page.object))

    @property
    def people(self):
        """Who goes there and whose land it is."""
        crew = Person.objects.filter(plantings__in=self.plantings).distinct().order_by("username")
        owners = [person for person in self.object.partner.people.order_by("username") if is_active_on(person, self.today)]
        return [(person, _("on the crew")) for person in crew] + [(person, _("for the landowner")) for person in owners]

    @property
    def contact_words(self):
        partner = self.object.partner
        return ", ".join(filter(None, (partner.contact_name, partner.email))) if partner.contact_name else ""

    def get_due(self):
        site = self.object
        if site.longitude is None and not site.jurisdiction:  # an outline tells it too
            return [Duty("odd", _("No point is recorded, so the jurisdiction is not known."))]
        if not site.jurisdiction_basis.startswith(("inside:", BY_HAND)) or "2 km" in site.jurisdiction_basis:
            text = _("Check the jurisdiction: how it was found is below. A person who knows the place may set it by hand.")
            text = f"{text} {_('Until then the rules of both sides apply.')}" if site.near else text
            return [Duty("odd", text, url=link(self.user, "site.edit", "site_edit", site.pk))]
        if site.near:
            words = _("It is too near to tell from %(places)s: the rules of both sides apply. A person may set it by hand.")
            text = words % {"places": local_list(site.near, _("or"))}
            return [Duty("odd", text, url=link(self.user, "site.edit", "site_edit", site.pk))]
        return []


def _basis_words(text):
    return " ".join(local_text(sentence) for sentence in basis_sentences(text))


def _not_in_french(site):
    words = {"access_notes": "access", "cautions": "cautions"}
    return ", ".join(words[name] for name in SITE_TEXTS if text_not_in(site, name, "fr"))


def _hectares(site):
    return local_number(f"{site.area_m2 / 10_000:,.2f}") + " ha" if site.area_m2 is not None else ""


class SiteFormView(RecordFormView):
    model = Site
    action = "site.edit"
    form_class = SiteForm
    service = site_save
    argument = "site"
    question = "Where is it, on whose land, and what must somebody who goes there know?"
    success_message = "Site {result.code} saved."

    def values(self, form):
        return {name: form.cleaned_data[name] for name in ("jurisdiction", "county", "reason")}


class SiteBoundaryView(RecordActionView):
    model = Site
    action = "site.edit"
    form_class = SiteBoundaryForm
    service = site_set_boundary
    title = "Boundary of {object.code}"
    question = "What is the outline of this site?"
    submit_label = "Save the boundary"

    @property
    def success_message(self):
        for note in self.result.notes:
            messages.warning(self.request, note)
        return f"Boundary saved: {self.result.area_m2 / 10_000:,.2f} ha, measured on the ellipsoid."


class BoundaryListView(RecordListView):
    model = BoundaryLayer
    action = "boundary.edit"
    title = "Jurisdiction layers"
    question = "Which layers are jurisdictions and protected areas of sites looked up in?"
    unit = "layers"
    others = PLANTING_LISTS
    add = ("Add a layer", "boundary.edit", "boundary_add")
    empty = (
        "No layer of your own yet",
        "The states of the United States and the countries of the world come with Mastbook, drawn coarsely. Add a finer layer, or one of "
        "provinces or districts; sites are looked up in it first.",
        None,
    )
    columns = (
        Column("Layer", "name"),
        Column("What it outlines", "get_kind_display"),
        Column("Where it comes from", "source", wide=True),
        Column("Column with the codes", "code_column", kind="code"),
        Column("Column with the names", "name_column", kind="code"),
        Column("Wrong or out of date", lambda layer: "Withdraw", url=lambda layer: reverse_to("boundary_withdraw", layer.pk)),
    )


class BoundaryAddView(ServiceFormMixin, FormView):
    action = "boundary.edit"
    form_class = BoundaryLayerForm
    service = boundary_layer_add
    title = "Add a layer of jurisdictions or protected areas"
    question = "Which areas, with which codes, from which source?"
    submit_label = "Add the layer and look up every site again"
    back_to = "boundary_list"

    @property
    def success_message(self):
        layer, changed = self.result
        return f"Layer {layer.name} added. {_changed_words(changed)}"


class BoundaryWithdrawView(RecordActionView):
    model = BoundaryLayer
    action = "boundary.edit"
    form_class = BoundaryWithdrawForm
    confirm = True
    title = "Withdraw the layer {object.name}"
    question = "Why is this layer no longer used?"
    submit_label = "Withdraw the layer and look up every site again"
    service = boundary_layer_withdraw
    argument = "layer"
    success_message = property(lambda page: f"Layer withdrawn. {_changed_words(page.result)}")
    back_to = "boundary_list"


def _changed_words(sites):
    codes = ", ".join(f"{site.code} ({site.jurisdiction or 'none'})" for site in sites[:10])
    more = f" and {len(sites) - 10} more" if len(sites) > 10 else ""
    return f"Place changed: {codes}{more}." if sites else "No site changed its jurisdiction, county or areas."
