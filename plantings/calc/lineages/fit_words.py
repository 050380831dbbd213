"""Whether the model of lineages describes the counts, in words, and what it means where it does not.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.fits.check import FitCheck
from plantings.calc.fits.words import cell_name, paragraph
from registry.calc.shared.worded import Worded, worded, worded_plural


def counts_fit_sentence(check: FitCheck, has_native: bool) -> Worded:
    """Whether the model of lineages describes the counts; where not, what to read.

    Parameters
    ----------
    check : FitCheck
    has_native : bool
        Whether there are native checks, so that the page has differences from them.
    """
    if not check.can_tell:
        head = worded("There are too few counts to tell whether the model describes them.")
    else:
        head = worded("The model describes the counts.") if check.fits else worded("The model does not describe the counts.")
    body = worded_plural(
        "Of %(cells)s counts of a lineage or check on a planting, %(n)s lies more than two standard errors from what the model expects "
        "from the others; by chance %(expected)s would.",
        "Of %(cells)s counts of a lineage or check on a planting, %(n)s lie more than two standard errors from what the model expects "
        "from the others; by chance %(expected)s would.",
        check.beyond, cells=f"{check.cells:,}", expected=f"{check.expected:.1f}",
    )  # fmt: skip
    cell = check.furthest
    far = worded(
        "Furthest: %(name)s at %(site)s (%(planting)s), %(alive)s of %(trees)s alive where %(expected)s are expected.",
        name=cell_name(cell), site=cell.site, planting=cell.planting, alive=f"{cell.observed:,.0f}",
        trees=f"{cell.n:,}", expected=f"{cell.expected:,.1f}",
    )  # fmt: skip
    said = [head, body, far]
    if check.too_far:
        said.append(worded("That is too far for chance: check the records of this count first."))
    if check.too_many:
        said.append(worded("The counts differ more than the model allows, so its intervals are too narrow and its chances too sure."))
    if not check.fits:
        said.append(
            worded("Read the differences as observed, not the shrunken order.")
            if has_native
            else worded("Read survival as observed, not the shrunken order.")
        )
    return paragraph(said)


def fit_definition() -> tuple[str, str]:
    """How the check of the model of lineages is made: (term, sentences)."""
    return (
        worded("Whether the model describes the counts"),
        worded(
            "Each count is set beside what the model expects of it from all other counts (Marshall & Spiegelhalter 2003; leaving one out "
            "under Laplace's approximation after Vehtari et al. 2016), as a binomial number about an uncertain logit. How many should lie "
            "more than two standard errors away is added up from those distributions, since for few trees it is not 5 in 100. The "
            "model fails where so many, as a Poisson number, have p under 0.025, or the furthest count has p under 0.025 after "
            "Bonferroni. A right model fails less often than 5 times in 100. Fewer than 30 counts cannot tell, and counts of a few trees "
            "hardly show a fault. With one planting a site, differences between plantings are in the reaction of a lineage to a site, "
            "so only single counts can show a fault."
        ),
    )
