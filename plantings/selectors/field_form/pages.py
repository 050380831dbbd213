"""Reads of the pages of printed field forms."""

from plantings.calc.census.page_codes import PageCodeFault, read_page_code
from plantings.models import FormPage

__all__ = ["code_fault", "page_of_code"]


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
