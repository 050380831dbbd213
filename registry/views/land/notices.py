"""Messages from landowners: the list, the page of one, what was done about it."""

from django.utils import timezone

from registry.forms.land.land import HandleForm, NoticeForm
from registry.models import LandNotice, Partner
from registry.selectors.duties.duty_line import Duty
from registry.selectors.land.land import notices_listed
from registry.services.land.notices import land_notice_add, land_notice_handle
from registry.views.permits.words import PAPER_LISTS
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, as_written
from registry.views.shared.tables import Column, Link


class LandNoticeListView(RecordListView):
    model = LandNotice
    action = "landnotice.view"
    title = "Messages from landowners"
    question = "What did landowners tell us, and who acted on it?"
    unit = "messages"
    others = PAPER_LISTS
    empty = ("No messages yet", "Landowners send messages from their page; the office enters phone calls.", None)
    read = staticmethod(notices_listed)
    row_mark = staticmethod(lambda notice: "" if notice.handled_on else "odd")
    columns = (
        Column("Received on", "entered_at", kind="date", url=Link("landnotice_detail")),
        Column("Partner", "partner.name"),
        Column("About", "get_kind_display"),
        Column("Site", "site_code", kind="code"),
        Column("Acted on", "handled_on", kind="date"),
        Column("By", "handled_by"),
    )


def _is_open(page):
    return page.object.handled_on is None


class LandNoticeDetailView(RecordDetailView):
    model = LandNotice
    action = "landnotice.view"
    question = "What did they tell us, and what was done?"
    related = ("partner", "entered_by")
    title = property(lambda page: f"{page.object.partner.name}: {page.object.get_kind_display()}")
    state = property(lambda page: "open" if _is_open(page) else "acted on")
    facts = (
        Fact("Partner", "partner", Link("partner_detail", "partner_id", "partner.view")),
        Fact("Site", "site_code"),
        Fact("Received on", lambda page: page.received_on),
        Fact("Entered by", "entered_by"),
        Fact("Acted on", "handled_on"),
        Fact("By", "handled_by"),
    )
    actions = (Action("Enter what was done", "landnotice_handle", "landnotice.edit", when=_is_open),)
    sections = (
        as_written("In their words", "text"),
        as_written("What was done", "handled_text", when=lambda page: not _is_open(page)),
    )

    received_on = property(lambda page: timezone.localdate(page.object.entered_at))

    def get_due(self):
        return [Duty("odd", "This message is still open.", self.received_on)] if _is_open(self) else []


class LandNoticeHandleView(RecordActionView):
    model = LandNotice
    action = "landnotice.edit"
    form_class = HandleForm
    title = "Act on the message from {object.partner.name}"
    question = "Who acted on it, and what was done?"
    submit_label = "Save what was done"
    success_message = "Saved: what was done about the message."
    person_box = "by"
    service = land_notice_handle
    argument = "notice"


class PartnerNoticeView(RecordActionView):
    """What a landowner said on the phone, entered by the office."""

    model = Partner
    action = "landnotice.edit"
    form_class = NoticeForm
    title = "Message from {object.name}"
    question = "What did they say, in their words?"
    submit_label = "Save the message"
    success_message = "Message saved. It stays open until somebody enters what was done."
    service = land_notice_add
