"""Forms whose save is a call of a service: a record, or one thing done to a record."""

from types import MappingProxyType

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.functional import cached_property
from django.views.generic import FormView

from registry.access.views import AccessMixin
from registry.forms.shared.edit_conflict import edit_conflict, shown_token
from registry.services.shared.records import record_save
from registry.views.shared.addresses import own_address, record_url, route_of
from registry.views.shared.offers import offers_response
from registry.views.shared.words import words_of


class ServiceForm:
    """A form whose save is a call of a service. What the service refuses is shown at its field; nothing typed is lost.

    Declare `form_class` and `service`; its words, each a text (see `words_of`) or a property: `title`, `question`, `submit_label`,
    `success_message`, `cautions`; where Cancel leads, `back_to`, and where the form leads once saved, `leads_to`, each a record (as a
    property) or a route without a key. Then, where needed, `initial`, and `form_extras`, what the form is made with.
    """

    template_name = "generic/form.html"
    service = None
    title = question = ""
    submit_label = "Save"
    success_message = "Saved."
    cautions = ()
    clash_message = "Someone else just saved this record. Check it before saving again."
    back_to = leads_to = None
    form_extras = MappingProxyType({})

    def get_form_kwargs(self):
        return super().get_form_kwargs() | self.form_extras

    def form_valid(self, form):
        try:
            self.result = self.perform(form)
        except ValidationError as error:
            add_errors(form, error)
            return self.form_invalid(form)
        except IntegrityError:
            form.add_error(None, self.clash_message)
            return self.form_invalid(form)
        messages.success(self.request, words_of(self, "success_message"))
        return redirect(self.get_success_url())

    def perform(self, form):
        """Call the service; return its result. May raise ValidationError."""
        return type(self).service(**self.who_acts(), **self.arguments(form))

    def who_acts(self):
        return {"actor": self.user}

    def arguments(self, form):
        """What the service is called with, besides who acts."""
        return self.values(form)

    def values(self, form):
        """The values of the boxes as the service takes them: those of the form, or what its `service_values` makes of them."""
        values = form.service_values() if hasattr(form, "service_values") else form.cleaned_data
        return with_file_read(values) if "file" in values else values

    def get_title(self):
        return words_of(self, "title")

    def get_cancel_url(self):
        return address_of(self.back_to) if self.back_to else own_address(self.request, self.request.GET.get("back", ""))

    def get_success_url(self):
        return address_of(self.leads_to or self.back_to)

    def get_page(self):
        """What the page shows besides its form."""
        return {}

    def get_context_data(self, **kwargs):
        page = {name: words_of(self, name) for name in ("question", "submit_label", "cautions")}
        page |= {"title": self.get_title(), "cancel_url": self.get_cancel_url()}
        return super().get_context_data(**kwargs) | page | self.get_page()


class ServiceFormMixin(ServiceForm, AccessMixin):
    """The form of somebody who is signed in: it offers only rows they may see. `person_box` is the box that starts with their name."""

    person_box = ""

    def get_initial(self):
        initial = super().get_initial()
        return {self.person_box: str(self.user)} | initial if self.person_box else initial

    def get(self, request, *args, **kwargs):
        if "offer" in request.GET:
            return offers_response(request, self.get_form())
        return super().get(request, *args, **kwargs)

    def get_form(self, form_class=None):
        return self.limit_choices(super().get_form(form_class))


def address_of(page):
    """The address of a record, or of a route without a key."""
    return reverse(page) if isinstance(page, str) else record_url(page)


def with_file_read(values):
    """The values with their file as a service takes it: its content and its name, or neither where no file was sent."""
    file = values["file"]
    others = {name: value for name, value in values.items() if name != "file"}
    return others | {"content": file.read(), "filename": file.name} if file else others


def add_errors(form, error):
    """Put a service's ValidationError on the fields it names, or on the form."""
    if hasattr(error, "error_dict"):
        for name, errors in error.error_dict.items():
            form.add_error(name if name in form.fields else None, errors)
    else:
        form.add_error(None, error)


class RecordFormView(ServiceFormMixin, FormView):
    """Add or change one record. With a `pk` in the route it changes; without, it adds.

    Its words and where it leads follow from the record type. Where saving is more than `record_save`, declare the `service`, and as
    `argument` what it takes the record as; it gets the many-to-many boxes as `many` and the reason of a change.

    A form that changes a record knows what the record said when it was shown: it overwrites what somebody else saved in
    between only when the second person has seen it.
    """

    model = None
    service = record_save
    argument = "obj"
    new_title = property(lambda page: f"New {page.model._meta.verbose_name}")
    title = property(lambda page: f"Change {page.record}" if page.record else page.new_title)
    submit_label = property(lambda page: f"Save the {page.model._meta.verbose_name}")
    success_message = property(lambda page: f"{page.model._meta.verbose_name.capitalize()} saved.")
    back_to = property(lambda page: page.record or f"{route_of(page.model)}_list")
    leads_to = property(lambda page: page.result)
    read_again = False

    def get_form_kwargs(self):
        kwargs = super().get_form_kwargs()
        if "pk" in self.kwargs:
            kwargs["instance"] = get_object_or_404(self.scoped(self.model), pk=self.kwargs["pk"])
        return kwargs

    def form_valid(self, form):
        shown = self.request.POST.get("as_shown")
        conflict = edit_conflict(form, shown) if "pk" in self.kwargs and shown else ""
        if conflict:
            form.add_error(None, conflict)
            self.read_again = True
            return self.form_invalid(form)
        return super().form_valid(form)

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        if "pk" in self.kwargs:
            sent = None if self.read_again else self.request.POST.get("as_shown")
            context["as_shown"] = sent or shown_token(context["form"])
        return context

    def arguments(self, form):
        return ({self.argument: form.instance} if self.argument else {}) | self.values(form)

    def values(self, form):
        values = form.cleaned_data
        many = {field.name: values[field.name] for field in self.model._meta.many_to_many if field.name in values}
        return ({"many": many} if many else {}) | ({"reason": values["reason"]} if "reason" in values else {})

    def get_success_url(self):
        # the row rule once more: a person must not save a record out of their own sight
        get_object_or_404(self.scoped(self.model), pk=self.result.pk)
        return super().get_success_url()

    @cached_property
    def record(self):
        """The record as it is stored, whatever the form has written into its own copy; None for a new one."""
        return get_object_or_404(self.scoped(self.model), pk=self.kwargs["pk"]) if "pk" in self.kwargs else None


class RecordActionView(ServiceFormMixin, FormView):
    """One thing done to one record (dispatch, receive, correct): a form above a service call.

    Declare `service` and, unless it is the name of the record type, the `argument` it takes the record as; the other arguments are the
    boxes of the form. With `confirm` it reads as a question that is answered, for what cannot be undone; `text` says what will happen.
    """

    model = None
    argument = property(lambda page: page.model._meta.model_name)
    text = ""
    confirm = False
    back_to = property(lambda page: page.object)

    def find_rows(self):
        self.object = get_object_or_404(self.scoped(self.model), pk=self.kwargs["pk"])

    def get_template_names(self):
        return ["generic/confirm.html"] if self.confirm else super().get_template_names()

    def arguments(self, form):
        return {self.argument: self.object} | super().arguments(form)

    def get_context_data(self, **kwargs):
        return super().get_context_data(object=self.object, text=words_of(self, "text"), **kwargs)


class NewVersionView(RecordActionView):
    """The next version of a record whose versions share a code, or what `named_by` says. Earlier versions stay, and what rests on them.

    The form starts with what the record says now, in the boxes of `starts_with`.
    """

    named_by = "code"
    starts_with = ()
    submit_label = "Save the new version"
    success_message = "New version saved."
    initial = property(lambda page: {name: getattr(page.object, name) for name in page.starts_with})
    leads_to = property(lambda page: page.result)

    def arguments(self, form):
        return {self.named_by: getattr(self.object, self.named_by)} | self.values(form)
