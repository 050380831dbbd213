"""Ratings and decisions of the orchard, and the programme's settings."""

from django.db.models import TextChoices


class RatingMethod(TextChoices):
    LARGE_STEM = "large_stem", "large-stem inoculation"
    SMALL_STEM = "small_stem", "small-stem inoculation"
    NATURAL = "natural", "natural infection"


class Decision(TextChoices):
    KEPT = "kept", "kept"
    ROGUED = "rogued", "to be rogued"
    HELD = "held", "held for another look"


class AgreedHow(TextChoices):
    ACCOUNT = "account", "signed in"
    LINK = "link", "by a link"


class ProgrammeKey(TextChoices):
    NAME = "name", "name of the programme, as printed"
    ADDRESS = "address", "postal address of the programme"
    MOTHERS_PER_LINE = "mothers_per_line", "fewest standing mothers of a recurrent line in an orchard"
    MOTHERS_PER_SOURCE = "mothers_per_source", "fewest standing mothers of a source of resistance in an orchard"
    STATUS_NUMBER = "status_number", "lowest status number of an orchard"
    CHROMOSOMES = "chromosomes", "chromosome pairs of the genus"
    CHROMOSOME_MORGANS = "chromosome_morgans", "map length of a chromosome (Morgan)"
    UNKNOWN_NATIVE_PARENT = "unknown_native_parent", "what an unknown parent of a native tree counts as in its expected shares"
    HOME_REGION = "home_region", "where material leaves from (ISO 3166-2)"
    RECEIPT_DAYS = "receipt_days", "days after which a missing receipt is followed up"
    KEEP_YEARS = "keep_years", "years to store a permit file after all under it has ended (0: without limit)"
    YOUNGEST_AGE = "youngest_age", "years of age under which a person does no dangerous task"
    LONE_WORK = "lone_work", "rule for work alone"
    COMPLETE_PERCENT = "complete_percent", "share of positions assessed that makes a census complete"


def rating_methods():
    return RatingMethod.choices


def decisions():
    return Decision.choices


def agreed_hows():
    return AgreedHow.choices


def programme_settings():
    return ProgrammeKey.choices
