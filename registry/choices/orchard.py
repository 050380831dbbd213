"""Ratings and decisions of the orchard, and the programme's settings."""

from django.db.models import TextChoices

YES, NO = "yes", "no"  # of a setting that is either


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
    HOME_REGION = "home_region", "where material leaves from (ISO 3166-2, such as US-VT, or US-VT/Chittenden with its county)"
    RECEIPT_DAYS = "receipt_days", "days after which a missing receipt is followed up"
    KEEP_YEARS = "keep_years", "years to store a permit file after all under it has ended (0: without limit)"
    YOUNGEST_AGE = "youngest_age", "years of age under which a person does no dangerous task"
    LONE_WORK = "lone_work", "rule for work alone"
    COMPLETE_PERCENT = "complete_percent", "share of positions assessed that makes a census complete"
    UNREAD_COUNT = "unread_count", "whether census records count before somebody has reviewed them (yes or no)"
    CHECK_HEIGHT_LOSS = "check_height_loss_cm", "check of the census: how much lower a tree may be than last time"
    CHECK_HEIGHT_LOSS_PERCENT = "check_height_loss_percent", "check of the census: how much lower in percent; more than both is odd"
    CHECK_HEIGHT_GAIN = "check_height_gain_cm", "check of the census: how much a tree may grow in a year"
    CHECK_HEIGHT_GAIN_TIMES = (
        "check_height_gain_times",
        "check of the census: how many times the median growth of its planting a tree may grow",
    )
    CHECK_DIAMETER_LOSS = "check_diameter_loss_mm", "check of the census: how much thinner a stem may be than last time"
    CHECK_DIAMETER_GAIN = "check_diameter_gain_mm", "check of the census: how much thicker a stem may grow in a year"
    CHECK_UNIT_SLIP = "check_unit_slip_percent", "check of the census: how near two readings must be to the ratio of two units"
    CHECK_WINDOW = "check_window_days", "check of the census: days a visit may be outside the window of its round"
    CHECK_END_DIGIT = "check_end_digit_percent", "check of the census: share of an observer's readings that may end in 0 or 5"
    CHECK_SAME = "check_same_percent", "check of the census: share of an observer's trees that may have grown by exactly the same"
    CHECK_SAME_RUN = "check_same_run", "check of the census: trees in a row with the same reading that are odd"
    CHECK_EXCHANGE = "check_exchange_spreads", "check of the census: how much better records must fit other trees to be listed"
    CHECK_COUNT_LEAP = "check_count_leap_percent", "check of the census: how much the living trees of a counted plot may change"
    SECOND_STATUS = "second_status_percent", "second measurement: share of trees that must have the same status"
    SECOND_HEIGHT_CM = "second_height_cm", "second measurement: how far two heights may be apart"
    SECOND_HEIGHT_PERCENT = "second_height_percent", "second measurement: how far in percent; the larger of both holds"
    SECOND_HEIGHT_SHARE = "second_height_share_percent", "second measurement: share of trees whose heights must be that near"
    SECOND_DIAMETER_MM = "second_diameter_mm", "second measurement: how far two diameters may be apart"
    SECOND_DIAMETER_SHARE = "second_diameter_share_percent", "second measurement: share of trees whose diameters must be that near"
    SECOND_POINTS = "second_estimate_points", "second measurement: how far two estimates of a share may be apart"
    SECOND_OWN_UNITS = "second_own_units", "second measurement: how far two values of a number you defined may be apart, in its unit"
    SECOND_OWN_PERCENT = "second_own_percent", "second measurement: how far in percent for a number you defined; the larger of both holds"
    SECOND_NUMBER_SHARE = (
        "second_number_share_percent",
        "second measurement: share of trees whose estimates, or numbers you defined, must be that near",
    )
    SECOND_PRESENCE = "second_presence_percent", "second measurement: share of trees on which both must have found something, or nothing"
    SECOND_CLASS = "second_class_percent", "second measurement: share of trees whose classes may be one step apart at most"


def rating_methods():
    return RatingMethod.choices


def decisions():
    return Decision.choices


def agreed_hows():
    return AgreedHow.choices


def programme_settings():
    return ProgrammeKey.choices
