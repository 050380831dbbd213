"""Whether the models of growth describe the means, in words, and what it means where they do not.

Source
------
Definition of this programme: its sentences.
"""

from plantings.calc.fits.check import FitCheck
from plantings.calc.fits.words import cell_name, paragraph
from plantings.calc.growth.words import rounded
from registry.calc.shared.worded import Worded, counted, worded, worded_plural


def means_fit_sentence(check: FitCheck, age: int, unit: str) -> Worded:
    """Whether the model of growth describes the means of one age; where not, what to read.

    Parameters
    ----------
    check : FitCheck
    age : int
        In growing seasons.
    unit : str
        Of the measurement.
    """
    seasons = counted(age, "growing seasons")
    if not check.can_tell:
        head = worded("After %(seasons)s there are too few means to tell whether the model describes them.", seasons=seasons)
    elif check.fits:
        head = worded("After %(seasons)s the model describes the means.", seasons=seasons)
    else:
        head = worded("After %(seasons)s the model does not describe the means.", seasons=seasons)
    body = worded_plural(
        "Of %(cells)s means of a lineage or check on a site, %(n)s lies more than two standard errors from what the model expects from "
        "the others; by chance %(expected)s would.",
        "Of %(cells)s means of a lineage or check on a site, %(n)s lie more than two standard errors from what the model expects from "
        "the others; by chance %(expected)s would.",
        check.beyond, cells=f"{check.cells:,}", expected=f"{check.expected:.1f}",
    )  # fmt: skip
    cell = check.furthest
    far = worded(
        "Furthest: %(name)s at %(site)s, %(mean)s %(unit)s (%(trees)s) where %(expected)s is expected.",
        name=cell_name(cell), site=cell.site, mean=rounded(cell.observed), unit=unit,
        trees=counted(cell.n, "trees"), expected=rounded(cell.expected),
    )  # fmt: skip
    said = [head, body, far]
    if check.too_far:
        said.append(worded("That is too far for chance: check the records of this mean first."))
    if check.too_many:
        said.append(worded("The means differ more than the model allows, so its intervals are too narrow."))
    if check.is_skewed:
        said.append(
            worded(
                "The residuals are skewed (%(skewness)s), so the intervals are too narrow on one side.", skewness=_signed(check.skewness)
            )
        )
    if not check.fits:
        said.append(worded("Compare the means on the single sites before you rely on these."))
    return paragraph(said)


def _signed(value):
    return f"{'−' if value < 0 else '+'}{abs(value):.1f}"
