"""The words beside a heritability.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.lineages.heritability import HERITABILITY_NEEDED, Heritability
from registry.calc.shared.worded import worded


def heritability_sentences(found: Heritability) -> list[str]:
    """The heritability with what it assumes; or why none can be told, and what would be needed."""
    if found.observed is None or found.liability is None or found.alive is None:
        return [
            worded(
                "Heritability cannot be told: %(reason)s. Needed: %(needed)s",
                reason=worded(found.reason), needed=worded(HERITABILITY_NEEDED[found.reason]),
            )
        ]  # fmt: skip
    return [
        worded(
            "Heritability of being alive, from %(mothers)s mothers: %(observed)s on the observed scale, %(liability)s on that of the "
            "liability.",
            mothers=found.families, observed=_range(found.observed), liability=_range(found.liability),
        ),
        worded(
            "It takes the trees of a mother as half sibs: full sibs, selfed seed and a nursery of their own make it too high. The "
            "observed scale goes with the share alive, %(share)s here, so compare it with no other age or site. It says nothing of "
            "single mothers.",
            share=f"{found.alive:.2f}",
        ),
    ]  # fmt: skip


def _range(values):
    share, low, high = (f"{value:.2f}" for value in values)
    return worded("%(share)s (%(low)s–%(high)s)", share=share, low=low, high=high)
