"""The language of a page and of a mail: that of its reader where volunteers, landowners and people without an account read."""

from django.conf import settings
from django.utils import translation
from django.utils.translation import get_language_info

from registry.access import roles

OFFICE_LANGUAGE = settings.LANGUAGE_CODE
LANGUAGE_NAMES = {code: str(get_language_info(code)["name"]) for code, _name in settings.LANGUAGES}  # in English, for the office
OTHER_LANGUAGES = tuple(code for code, _name in settings.LANGUAGES if code != OFFICE_LANGUAGE)

# Routes of pages that people read who have no account, or have not signed in. Whoever opens one reads the language chosen on it.
_WITHOUT_ACCOUNT = frozenset(
    ["login", "logout", "password_reset", "password_reset_done", "password_reset_confirm", "password_reset_complete", "language",
     "land_page", "land_print", "land_tell", "land_receipt", "land_agreement", "land_language",
     "phone_home", "phone_manifest", "census_phone", "census_phone_ping", "census_phone_data", "seconddraw_phone", "seconddraw_phone_data",
    "phone_by_link"]
)  # fmt: skip
# Routes of pages that volunteers and landowners read, and the office too: the office reads them in English.
_SIGNED_IN = frozenset(
    ["today", "census_tree", "census_grid", "formpage_key", "formscan_add", "selfsown_add", "selfsown_correct",
     "census_counts", "field_form", "observation_correct", "plotcount_correct",
     "find", "calendar", "calendar_own", "duty_list", "duty_detail", "duty_done", "duty_done_correct",
     "cautiontext_list", "cautiontext_detail", "caution_read",
     "site_list", "site_detail", "planting_list", "planting_detail", "planting_map", "planting_film", "tree_list", "tree_detail",
     "round_list", "round_coverage", "round_not_visited", "round_detail", "round_records", "round_photos", "census_next",
     "seconddraw_detail", "round_second", "seconddraw_enter", "seconddraw_form", "secondmeasurement_correct",
     "partner_list", "partner_detail", "partner_one_page", "shipment_list", "shipment_detail", "shipment_packing",
     "receipt_list", "receipt_detail", "receipt_add",
     "help", "results", "map", "map_embed", "survival", "survival_lineages", "survival_lifetimes", "survival_by_site", "survival_measured",
     "survival_lineage", "survival_growth", "model_now"]
)  # fmt: skip


def language_for(request):
    """The language of the page that a request asks for."""
    is_sheet = "download" in request.GET  # its headers and words are the same in both languages
    return reader_language(request) if has_choice(request) and not is_sheet else OFFICE_LANGUAGE


def has_choice(request):
    """Whether the page offers its reader the other language."""
    route = request.resolver_match.url_name if request.resolver_match else ""
    return route in _WITHOUT_ACCOUNT or (route in _SIGNED_IN and not _is_office(request.user))


def reader_language(request):
    """The language chosen on this device; else that of the account; else the one the browser asks for."""
    chosen = request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME)
    if chosen in dict(settings.LANGUAGES):
        return chosen
    return getattr(request.user, "language", "") or translation.get_language_from_request(request)


def refusal_language(request):
    """The language of an error page: English for the office, otherwise that of the reader."""
    return OFFICE_LANGUAGE if _is_office(request.user) else reader_language(request)


def mail_language(person, otherwise=OFFICE_LANGUAGE):
    """The language of a mail to somebody; `otherwise` where they have chosen none."""
    return OFFICE_LANGUAGE if _is_office(person) else person.language or otherwise


def language_words(code):
    """A stored language in words, as the office reads them: "French"."""
    return translation.get_language_info(code)["name"] if code else "not recorded"


def _is_office(user):
    return user.is_authenticated and user.role not in roles.OWN_ROWS_ONLY
