"""Agreements, messages and cautions on other people's land."""

from django.db.models import TextChoices
from django.utils.translation import gettext_noop


class SignedHow(TextChoices):
    PAPER = "paper", gettext_noop("on paper")
    LINK = "link", gettext_noop("on the private page")


class LandNoticeKind(TextChoices):
    SALE = "sale", gettext_noop("the land is being sold or handed on")
    WORKS = "works", gettext_noop("works planned near the trees")
    CONTACT = "contact", gettext_noop("new contact details")
    OTHER = "other", gettext_noop("something else")


class CautionTask(TextChoices):
    ANY = "any", "every task"
    CENSUS = "census", "census"
    PLANTING = "planting", "planting"
    INOCULATION = "inoculation", "inoculation and rating"
    PESTICIDE = "pesticide", "pesticide or herbicide"
    SAW = "saw", "saw and brush saw"
    POLLINATION = "pollination", "pollination and work at height"
    HARVEST = "harvest", "harvest and seed handling"
    DRIVING = "driving", "driving"


def signed_hows():
    return SignedHow.choices


def land_notice_kinds():
    return LandNoticeKind.choices


def caution_tasks():
    return CautionTask.choices
