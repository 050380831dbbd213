"""Reads of the pages of printed field forms."""

from plantings.calc.census.page_codes import PageCodeFault, read_page_code
from plantings.models import FormPage, FormScan

__all__ = ["code_fault", "page_of_code", "scans_of_page", "scans_of_round"]


def page_of_code(user, text):
    """The FormPage of a page code that somebody typed, among the rounds they may key; None for anything else."""
    try:
        code = read_page_code(text)
    except PageCodeFault:
        return None
    if code is None or not user.may("census.enter"):
        return None
    pages = FormPage.objects.for_user(user).filter(round=code.round, form=code.form, number=code.page)
    return pages.select_related("round__planting").first()


def code_fault(text):
    """Why a text that looks like a page code is none; "" for any other text."""
    try:
        read_page_code(text)
    except PageCodeFault as fault:
        return str(fault)
    return ""


def scans_of_round(user, census_round):
    """The photos and scans of a round that a person may see. One query."""
    scans = FormScan.objects.for_user(user).filter(round=census_round).select_related("file", "page", "entered_by")
    return scans.order_by("page__form", "page__number", "pk")


def scans_of_page(user, page):
    """Those of one page."""
    return scans_of_round(user, page.round).filter(page=page)
