"""Agreements, messages and cautions on other people's land."""

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy


class SignedHow(TextChoices):
    PAPER = "paper", gettext_lazy("on paper")
    LINK = "link", gettext_lazy("on the private page")


class LandNoticeKind(TextChoices):
    SALE = "sale", gettext_lazy("the land is being sold or handed on")
    WORKS = "works", gettext_lazy("works planned near the trees")
    CONTACT = "contact", gettext_lazy("new contact details")
    OTHER = "other", gettext_lazy("something else")


class CautionTask(TextChoices):
    ANY = "any", gettext_lazy("every task")
    CENSUS = "census", gettext_lazy("census")
    PLANTING = "planting", gettext_lazy("planting")
    INOCULATION = "inoculation", gettext_lazy("inoculation and rating")
    PESTICIDE = "pesticide", gettext_lazy("pesticide or herbicide")
    SAW = "saw", gettext_lazy("saw and brush saw")
    POLLINATION = "pollination", gettext_lazy("pollination and work at height")
    HARVEST = "harvest", gettext_lazy("harvest and seed handling")
    DRIVING = "driving", gettext_lazy("driving")


def signed_hows():
    return SignedHow.choices


def land_notice_kinds():
    return LandNoticeKind.choices


def caution_tasks():
    return CautionTask.choices
