"""Photos of trees: what a phone sends, one at a time, the file of one, and the list of those of a round."""

from django.core.exceptions import RequestDataTooBig, ValidationError
from django.http import Http404, HttpResponse, JsonResponse
from django.http.request import RawPostDataException
from django.shortcuts import get_object_or_404
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views import View

from plantings.calc.census.photos import PHOTO_BYTES_MOST
from plantings.forms.census import PhotoForm
from plantings.models import Observation, Photo
from plantings.selectors.plantings.photos import photos_of_round
from plantings.services.arrival.sorting import REFUSED, Answer
from plantings.services.census.photos import photo_add, photo_receive
from plantings.views.census.rounds import get_round
from plantings.views.plantings.trees import place_words
from registry.access.views import AccessMixin
from registry.selectors.permits.documents import file_content, file_fault
from registry.services.audit.busy import Busy
from registry.views.shared.addresses import record_url
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.tables import Column, Link


def photo_answer(request, census_round, actor, *, link=None, before=()):
    """Store a photo and answer as a batch of one does. The body is the picture, what is said of it is in the address."""
    about = request.GET.dict()
    content = _picture(request)
    if content is None:
        answer = Answer(about.get("uuid", "")[:40], REFUSED, gettext("The photo is too large. Take it again."))
    else:
        try:
            answer = photo_receive(actor=actor, census_round=census_round, about=about, content=content, link=link, before=before)
        except Busy:
            raise
        except ValidationError:  # the disk of the server
            words = gettext("The server cannot store photos now. The photo stays on this phone and is sent later.")
            return JsonResponse({"error": words}, status=503, headers={"Retry-After": "60"})
    return JsonResponse({"answers": [answer._asdict()]})


def _picture(request):
    """The bytes that came; None for too many, unread where their number is said."""
    if int(request.headers.get("Content-Length") or 0) > PHOTO_BYTES_MOST:
        return None
    try:
        return request.body
    except RequestDataTooBig:
        return None
    except RawPostDataException:  # a form
        return b""


class PhotoFileView(AccessMixin, View):
    """A photo for who may see its record. The browser may store it for its owner, and asks each time whether it may still show it."""

    action = "tree.view"

    def get(self, request, pk):
        photo = get_object_or_404(self.scoped(Photo).select_related("file"), pk=pk)
        etag = f'"{photo.file.sha256}"'
        response = get_conditional_response(request, etag=etag)
        if response is None:
            response = self.picture(photo)
        for name, value in (("ETag", etag), ("Cache-Control", "private, no-cache"), ("X-Content-Type-Options", "nosniff")):
            response.headers[name] = value
        return response

    def picture(self, photo):
        fault = file_fault(photo.file)
        if fault:
            raise Http404(f"The {photo} cannot be shown: {fault}. Restore it from the backup.")
        return HttpResponse(file_content(photo.file), content_type="image/jpeg", headers={"Content-Disposition": "inline"})


class ObservationPhotoView(RecordActionView):
    """For a photo that a phone could not send and saved as a file."""

    model = Observation
    action = "observation.correct"
    form_class = PhotoForm
    service = photo_add
    argument = "observation"
    title = property(lambda page: f"Add a photo to the record of tree {page.object.tree.tag}")
    question = property(lambda page: f"Which photo was taken of this tree in {page.object.round.label}?")
    submit_label = "Add the photo"
    success_message = "Photo added."
    back_to = property(lambda page: page.object.tree)


class RoundPhotosView(RecordListView):
    """The photos of one round, with the hash of each, to set beside the files of a backup."""

    model = Photo
    action = "round.view"
    question = _("Which trees were photographed in this round, when and by whom?")
    unit = "photos"
    title = property(
        lambda page: _("Photos of %(round)s, %(planting)s") % {"round": page.round.label, "planting": page.round.planting.code}
    )
    empty = (_("No photo yet"), _("Photos are taken on the page of the phone and sent after their record."), None)
    related = ("file", "entered_by", "link", "observation__tree__block")
    order = ("observation__tree__walk_number", "observation__tree_id", "pk")
    columns = (
        Column(_("Tree"), "observation.tree.tag", kind="code", url=lambda photo: record_url(photo.observation.tree)),
        Column(_("Photo"), lambda photo: f"{photo.width} × {photo.height}", url=Link("photo_file")),
        Column(_("Taken at"), "taken_at", kind="date"),
        Column(_("Who looked"), lambda photo: photo.observation.observer or str(photo.entered_by)),
        Column(_("Place"), lambda photo: place_words(photo.observation.tree)),
        Column(_("Recorded"), "observation.get_status_display"),
        Column(_("Entered by"), lambda photo: str(photo.entered_by)),
        Column(_("By a link for"), lambda photo: photo.link.for_whom if photo.link else ""),
        Column(_("SHA-256 of the file"), "file.sha256", kind="code"),
    )

    def find_rows(self):
        self.round = get_round(self, self.kwargs["pk"])

    def read(self, photos):
        return photos.filter(pk__in=photos_of_round(self.round, self.user).order_by().values("pk"))

    def get_actions(self):
        return [(_("Back to the round"), record_url(self.round))]
