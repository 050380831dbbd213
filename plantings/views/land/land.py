"""A landowner's own page, opened by a private link. It acts in the name of the partner's contact and shows only what they may see."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.generic import FormView, TemplateView, View

from plantings.selectors.land.land import land_plantings, land_shipments, land_sites
from plantings.views.land.parts import agreement_parts, answers, caution_part, contact_role, published_lines, state_words
from registry.forms.land.land import NoticeForm, SignForm
from registry.forms.movements.shipments import ReceiptForm
from registry.models import AgreementText, Shipment
from registry.selectors.land.land import agreements_of, link_for_token, programme_contacts, wording_offered
from registry.selectors.movements.shipments import shipment_lines
from registry.selectors.permits.as_of import paper_on, papers_on
from registry.services.land.links import language_by_link, link_opened, notice_by_link, receipt_by_link, sign_by_link
from registry.views.movements.receipts import RECEIPT_QUESTION, count_words, receipt_grid
from registry.views.people.language import keep_language, language_sent
from registry.views.shared.forms import ServiceForm

_SAME_ANSWER = "plantings/land/land_gone.html"


class PrivatePage(View):
    """What every page behind a private link has in common.

    Whoever opens it needs no account. An unknown, ended or revoked link, and a row of somebody else, all get the
    same answer. The address is the key, so no browser or search engine stores a page of it or passes the address on.
    """

    @classmethod
    def as_view(cls, **initkwargs):
        # the check against forged forms is made in `protected`, after the origin was looked at
        return csrf_exempt(login_not_required(super().as_view(**initkwargs)))

    def dispatch(self, request, *args, **kwargs):
        if request.META.get("HTTP_ORIGIN") == "null":
            # A browser that may send no referrer sends this for each of our forms. The token in the cookie and in
            # the form is still compared; another website's origin is still refused.
            del request.META["HTTP_ORIGIN"]
            request.META["HTTP_REFERER"] = request.build_absolute_uri()
        response = self.protected(request, *args, **kwargs)
        add_never_cache_headers(response)
        response.headers["Cache-Control"] = "no-store"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        return response

    @method_decorator(csrf_protect)
    def protected(self, request, *args, token, **kwargs):
        self.today = timezone.localdate()
        self.token = token
        self.link = link_for_token(token, self.today)
        if self.link is None:
            return self.gone()
        self.person = self.link.person
        try:
            self.find_rows()
            return super().dispatch(request, *args, **kwargs)
        except Http404:
            return self.gone()

    def find_rows(self):
        """Find the rows the page is about in the person's scope; Http404 when there are none."""

    def gone(self):
        # without the choice of a language: the answer is the same for every address
        page = {"user": AnonymousUser(), "sections": (), "other_language": None}
        return render(self.request, _SAME_ANSWER, page, status=404)

    def address(self, name, *args):
        return reverse(name, args=[self.token, *args])

    def get_context_data(self, **kwargs):
        # a page that acts in another's name has no navigation of whoever happens to be signed in
        page = {
            "user": AnonymousUser(),
            "sections": (),
            "home": self.address("land_page"),
            "language_url": self.address("land_language"),
            "person": self.person,
            "partner": self.person.partner,
        }
        return super().get_context_data(**kwargs) | page


class LandPageView(PrivatePage, TemplateView):
    template_name = "plantings/land/land_page.html"

    def get(self, request, *args, **kwargs):
        link_opened(self.link)
        return super().get(request, *args, **kwargs)

    def get_context_data(self, **kwargs):
        person = self.person
        plantings, papers = land_plantings(person, self.today), papers_on(agreements_of(person), self.today)
        sites = land_sites(person)
        agreements = agreement_parts(papers, self.address)
        page = {
            "title": self.person.partner.name,
            "question": _("What is planted on your land, what was agreed, and who comes when?"),
            "on": self.today,
            "plantings": plantings,
            "agreements": agreements,
            "visits": [(item, round_) for item in plantings for round_ in item.rounds],
            "contacts": [(contact, contact_role(contact)) for contact in programme_contacts()],
            "shipments": [(item, self.amounts(item), self.receipt_url(item)) for item in land_shipments(person)],
            "cautions": [caution_part(site, self.today) for site in sites],
            "published": [(site, published_lines(site)) for site in sites],
            "answers": answers(agreements),
            "has_signed": any(part["signatures"] for part in agreements),
            "notices": person.partner.land_notices.for_user(person).filter(handled_on__isnull=True).order_by("-entered_at"),
            "tell_url": self.address("land_tell"),
            "print_url": self.address("land_print"),
        }
        return super().get_context_data(**kwargs) | page

    @staticmethod
    def amounts(item):
        return [(line.lot.code, count_words(line.quantity, line.lot.unit)) for line in item.lines]

    def receipt_url(self, item):
        return self.address("land_receipt", item.shipment.pk) if item.open else None


class LandLanguageView(PrivatePage):
    """The language of the page, chosen on it: for this device, and for the mails to the person of the link."""

    http_method_names = ["post"]

    def post(self, request, *args, **kwargs):
        language = language_sent(request)
        language_by_link(link=self.link, language=language)
        return keep_language(HttpResponseRedirect(self.address("land_page")), language)


class PrivateForm(PrivatePage, ServiceForm, FormView):
    """A form behind a private link, which acts in the name of the link."""

    template_name = "plantings/land/land_form.html"
    clash_message = gettext_lazy("This is already saved. You can see it on your page.")

    def who_acts(self):
        return {"link": self.link}

    def get_success_url(self):
        return self.address("land_page")

    get_cancel_url = get_success_url


class LandReceiptView(PrivateForm):
    form_class = ReceiptForm
    service = receipt_by_link
    template_name = "plantings/land/land_receipt.html"
    question = RECEIPT_QUESTION
    submit_label = gettext_lazy("Send the receipt")
    title = property(lambda page: _("Receipt of %(shipment)s") % {"shipment": page.shipment.code})
    initial = property(lambda page: {"received_by": str(page.person)})
    form_extras = property(lambda page: {"lines": [balance.line for balance in page.balances]})

    def find_rows(self):
        shipments = Shipment.objects.for_user(self.person).exclude(dispatched_on__isnull=True)
        self.shipment = get_object_or_404(shipments, pk=self.kwargs["pk"])
        self.balances = shipment_lines(self.shipment)

    def arguments(self, form):
        return {"shipment": self.shipment} | self.values(form)

    @property
    def success_message(self):
        _receipt, new = self.result
        saved = _("Receipt of %(shipment)s saved. Thank you.") if new else _("The receipt of %(shipment)s was saved before.")
        return saved % {"shipment": self.shipment.code}

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        return context | {"grid": receipt_grid(context["form"], self.balances)}


class LandAgreementView(PrivateForm):
    """An agreement to read and, when there is a wording to sign, to sign."""

    form_class = SignForm
    service = sign_by_link
    template_name = "plantings/land/land_agreement.html"
    question = gettext_lazy("What does the agreement say?")
    submit_label = gettext_lazy("Sign this wording")
    success_message = gettext_lazy("Signature saved, with the wording you read. The coordinator can see it.")
    title = property(lambda page: page.paper.title)
    initial = property(lambda page: {"text": page.offered.pk if page.offered else None, "signed_by": str(page.person)})

    def find_rows(self):
        self.paper = paper_on(get_object_or_404(agreements_of(self.person), pk=self.kwargs["pk"]), self.today)
        self.offered = wording_offered(self.paper)

    def arguments(self, form):
        return {"authorization": self.paper, "text_id": form.cleaned_data["text"], "signed_by": form.cleaned_data["signed_by"]}

    def form_invalid(self, form):
        # the wording to sign next is the one on the page now, not the one that was sent
        form.data = form.data.copy()
        form.data["text"] = self.offered.pk if self.offered else ""
        return super().form_invalid(form)

    def get_page(self):
        signatures = list(self.paper.signatures.for_user(self.person).select_related("text"))
        signed = AgreementText.objects.for_user(self.person).filter(pk__in=[signature.text_id for signature in signatures])
        return {
            "paper": self.paper,
            "state": state_words(self.paper),
            "offered": self.offered,
            "signatures": signatures,
            "signed_texts": signed.order_by("-entered_at"),
        }


class LandTellView(PrivateForm):
    form_class = NoticeForm
    service = notice_by_link
    title = gettext_lazy("Send us a message")
    question = gettext_lazy("Is the land being sold, are works planned, is there a new contact?")
    submit_label = gettext_lazy("Send the message")
    success_message = gettext_lazy("Message saved. The coordinator can see it. Thank you.")
    form_extras = property(lambda page: {"sites": [(site.code, site.name) for site in land_sites(page.person)]})
