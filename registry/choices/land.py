"""Agreements, notices and cautions on other people's land."""

from django.db.models import TextChoices


class SignedHow(TextChoices):
    PAPER = "paper", "on paper"
    LINK = "link", "on the private page"


class LandNoticeKind(TextChoices):
    SALE = "sale", "the land is being sold or handed on"
    WORKS = "works", "works planned near the trees"
    CONTACT = "contact", "new contact details"
    OTHER = "other", "something else"


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
