"""A rating in words and as the columns of a table."""

from registry.selectors.orchard.ratings import CHECKS
from registry.views.shared.tables import Column, Link


def reading_words(rating):
    parts = [] if rating.score is None else [f"{rating.score.normalize():f}"]
    if rating.canker_length_mm is not None:
        parts.append(f"canker {canker_words(rating)} mm")
    return ", ".join(parts)


def position_words(line):
    """The position between the checks of the day, or why there is none."""
    position = line.comparison.position
    if position is None:
        return line.comparison.reason
    return f"{position:.2f}" if line.basis == "score" else f"{position:.2f} by canker length"


def checks_words(line):
    means = (("native", line.comparison.native), ("F1", line.comparison.f1), ("donor", line.comparison.donor))
    return ", ".join(f"{word} {mean:.2f}" for word, mean in means if mean is not None)


def rating_columns(*, tree_column=True):
    """Columns of a table of RatingLine. Without the tree, what is said together has one column, so that a page has room for all."""
    checks = (
        Column("Native check", lambda line: mean_words(line.comparison.native), "right"),
        Column("F1 check", lambda line: mean_words(line.comparison.f1), "right"),
        Column("Donor check", lambda line: mean_words(line.comparison.donor), "right"),
        Column("Scale", "rating.scale", wide=True),
        Column("Disease", "rating.scale.disease"),
    )
    checks_in_short = (
        Column("Checks", lambda line: ", ".join(part.replace(" ", "\N{NO-BREAK SPACE}") for part in checks_words(line).split(", "))),
        Column("Scale and disease", lambda line: f"{line.rating.scale}: {line.rating.scale.disease}", wide=True),
    )
    last = (
        Column("Method", "rating.get_method_display"),
        Column("Strain", "rating.strain"),
        Column("Rated by", "rating.rater"),
        Column("It is a", lambda line: CHECKS.get(line.check, "")),
        Column("State", lambda line: "corrected later" if is_superseded(line.rating) else ""),
    )
    last_in_short = (Column("Method", how_words), Column("Rated by", "rating.rater"))
    tree = Column("Tree", "rating.tree.code", kind="code", url=Link("pedigreetree_detail", "rating.tree_id"))
    return (
        *([tree] if tree_column else []),
        Column("Rated on", "rating.rated_on", kind="date", url=Link("rating_detail", "rating.pk")),
        Column("Score", "rating.score", "right"),
        Column("Position", position_words, "right"),
        *(checks if tree_column else checks_in_short),
        Column("Canker (mm)", lambda line: canker_words(line.rating), "right"),
        *(last if tree_column else last_in_short),
    )


def how_words(line):
    """The method with its strain; that the tree was a check that day, and that the rating was corrected later, where it is so."""
    rating = line.rating
    parts = (
        rating.get_method_display(), rating.strain, CHECKS.get(line.check, ""), "corrected later" if is_superseded(rating) else "",
    )  # fmt: skip
    return ", ".join(filter(None, parts))


def mean_words(mean):
    return "" if mean is None else f"{mean:.2f}"


def canker_words(rating):
    if rating.canker_length_mm is None:
        return ""
    return f"{rating.canker_length_mm:g}" + (f" × {rating.canker_width_mm:g}" if rating.canker_width_mm is not None else "")


def is_superseded(rating):
    return getattr(rating, "superseded_by", None) is not None
