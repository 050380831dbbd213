"""Forms whose save is a call of a service: a record, or one thing done to a record."""

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
from registry.views.shared.addresses import own_address, reverse_to
from registry.views.shared.offers import offers_response


class ServiceFormMixin(AccessMixin):
    """A form whose save is a service call. What the service refuses is shown at its field; nothing typed is lost.

    `person_box` names the box that starts with the name of whoever fills in the form.
    """

    template_name = "generic/form.html"
    title = question = ""
    submit_label = "Save"
    success_message = "Saved."
    cautions = ()
    person_box = ""

    def get_initial(self):
        initial = super().get_initial()
        return initial | {self.person_box: str(self.user)} if self.person_box else initial

    def get(self, request, *args, **kwargs):
        if "offer" in request.GET:
            return offers_response(request, self.get_form())
        return super().get(request, *args, **kwargs)

    def get_form(self, form_class=None):
        return self.limit_choices(super().get_form(form_class))

    def form_valid(self, form):
        try:
            self.result = self.perform(form)
        except ValidationError as error:
            add_errors(form, error)
            return self.form_invalid(form)
        except IntegrityError:
            form.add_error(None, "Someone else just saved this record. Check it before saving again.")
            return self.form_invalid(form)
        messages.success(self.request, self.get_success_message())
        return redirect(self.get_success_url())

    def perform(self, form):
        """Call the service; return its result. May raise ValidationError."""
        raise NotImplementedError

    def get_success_message(self):
        return self.success_message.format(object=getattr(self, "object", None), result=self.result)

    def get_cancel_url(self):
        return own_address(self.request, self.request.GET.get("back", ""))

    def get_title(self):
        return self.title.format(object=getattr(self, "object", None))

    def get_cautions(self):
        return self.cautions

    def get_context_data(self, **kwargs):
        page = {
            "title": self.get_title(),
            "question": self.question,
            "submit_label": self.submit_label,
            "cancel_url": self.get_cancel_url(),
            "cautions": self.get_cautions(),
        }
        return super().get_context_data(**kwargs) | page


def add_errors(form, error):
    """Put a service's ValidationError on the fields it names, or on the form."""
    if hasattr(error, "error_dict"):
        for name, errors in error.error_dict.items():
            form.add_error(name if name in form.fields else None, errors)
    else:
        form.add_error(None, error)


class RecordFormView(ServiceFormMixin, FormView):
    """Add or change one record through `record_save`; With a `pk` in the route it changes; without, it adds.

    Its title names the record, and its way back leads to it.

    A form that changes a record knows what the record said when it was shown: it overwrites what somebody else saved in
    between only when the second person has seen it.
    """

    model = None
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

    def perform(self, form):
        many = {field.name: form.cleaned_data[field.name] for field in self.model._meta.many_to_many if field.name in form.cleaned_data}
        return self.save(form.instance, many, form)

    def save(self, record, many, form):
        return record_save(actor=self.request.user, obj=record, many=many, reason=form.cleaned_data.get("reason", ""))

    def get_success_url(self):
        # the row rule once more: a person must not save a record out of their own sight
        get_object_or_404(self.scoped(self.model), pk=self.result.pk)
        return reverse_to(f"{self.route_name()}_detail", self.result.pk)

    def route_name(self):
        return self.model._meta.model_name

    @cached_property
    def record(self):
        """The record as it is stored, whatever the form has written into its own copy; None for a new one."""
        return get_object_or_404(self.scoped(self.model), pk=self.kwargs["pk"]) if "pk" in self.kwargs else None

    def get_title(self):
        return f"Change {self.record}" if self.record else f"New {self.model._meta.verbose_name}"

    def get_cancel_url(self):
        if self.record:
            return reverse_to(f"{self.route_name()}_detail", self.record.pk)
        return reverse(f"{self.route_name()}_list")


class RecordActionView(ServiceFormMixin, FormView):
    """One thing done to one record (dispatch, receive, correct): a form above a service call.

    Declare `service` and the `argument` it takes the record as; the other arguments are the boxes of the form. `title` and
    `success_message` may name the record and the result: "Close {object.code}". `form_argument` is the argument a form takes the
    record as, if it has one. With `confirm` it reads as a question that is answered, for what cannot be undone; `get_text` says
    what will happen.
    """

    model = None
    service = None
    argument = form_argument = ""
    confirm = False

    def get_template_names(self):
        return ["generic/confirm.html"] if self.confirm else super().get_template_names()

    def get_form_kwargs(self):
        kwargs = super().get_form_kwargs()
        return kwargs | {self.form_argument: self.object} if self.form_argument else kwargs

    def get_text(self):
        return ""

    def perform(self, form):
        return type(self).service(actor=self.request.user, **{self.argument: self.object}, **form.cleaned_data)

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            self.object = get_object_or_404(self.scoped(self.model), pk=kwargs["pk"])
        return super().dispatch(request, *args, **kwargs)

    def get_cancel_url(self):
        return reverse_to(f"{self.model._meta.model_name}_detail", self.object.pk)

    def get_success_url(self):
        return self.get_cancel_url()

    def get_context_data(self, **kwargs):
        return super().get_context_data(object=self.object, text=self.get_text(), **kwargs)
