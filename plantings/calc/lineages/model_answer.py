"""What the mixed model says of the lineages of a picture, as plain values that can be stored and read back.

Source
------
Definitions of this programme; the model is `mixed_fit`, the chances are `place_chances`.
"""

from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass, replace

from plantings.calc.fits.check import FitCheck, read_check
from plantings.calc.lineages.heritability import Heritability, family_heritability
from plantings.calc.lineages.lineage_model import LINEAGE, LineageCells, lineage_fit, lineage_fit_check, lineage_values
from plantings.calc.lineages.ranking import normal_draws, place_chances


@dataclass(frozen=True, slots=True)
class LineageAnswer:
    """One lineage: its effect on the logit scale; its survival over the sites with the ends of the interval, 0 to 1; its difference from
    the native check with the ends, None without one; its reliability, 0 to 1; chances of the best and worst quarter, None where no order
    can be told."""

    effect: float
    share: tuple[float, float, float]
    difference: tuple[float, float, float] | None
    reliability: float
    best: float | None
    worst: float | None


@dataclass(frozen=True, slots=True)
class ModelAnswer:
    """The answer for each lineage, None for one that an earlier model did not know, the SDs of the factors on the logit scale, the factors
    without a spread, how many lineages are the best quarter, 0 where no order can be told, and the heritability, which takes the lineages
    as families of open pollination. `check` says whether the model describes the counts, None of one that was stored before it was
    checked."""

    lineages: tuple[LineageAnswer | None, ...]
    deviations: dict[str, float]
    singular: tuple[str, ...]
    places: int
    heritability: Heritability
    check: FitCheck | None = None

    def values(self) -> dict:
        """The answer as what JSON holds."""
        rows = [[one.effect, one.share, one.difference, one.reliability, one.best, one.worst] for one in self.lineages if one]
        return {"lineages": rows, "deviations": self.deviations, "singular": self.singular, "places": self.places,
                "heritability": astuple(self.heritability), "check": self.check and self.check.values()}  # fmt: skip


def read_answer(values: dict | None) -> ModelAnswer | None:
    """The answer of `ModelAnswer.values`; None of None."""
    if values is None:
        return None
    lineages = tuple(
        LineageAnswer(effect, tuple(share), tuple(difference) if difference else None, reliability, best, worst)
        for effect, share, difference, reliability, best, worst in values["lineages"]
    )
    heritability = Heritability(*(tuple(value) if isinstance(value, list) else value for value in values["heritability"]))
    return ModelAnswer(
        lineages, dict(values["deviations"]), tuple(values["singular"]), values["places"], heritability, read_check(values.get("check"))
    )


def answer_for(answer: ModelAnswer | None, labels: Sequence[str], wanted: Sequence[str]) -> ModelAnswer | None:
    """The answer about the lineages `labels` as one about those `wanted`."""
    if answer is None:
        return None
    known = dict(zip(labels, answer.lineages, strict=True))
    return replace(answer, lineages=tuple(known.get(label) for label in wanted))


def model_answer(cells: LineageCells, labels: Sequence[str], say: Callable[[], None] | None = None) -> ModelAnswer | None:
    """Fit the model and answer for some of its lineages; None where it did not converge.

    Parameters
    ----------
    cells : LineageCells
    labels : sequence of str
        Lineages of the cells.
    say : callable, optional
        As in `mixed_fit`.
    """
    fit = lineage_fit(cells, say)
    if fit is None or fit.reason:
        return None
    values = lineage_values(cells, fit, labels)
    alike = LINEAGE in fit.singular
    chances = None if alike else place_chances(normal_draws(values.effects, values.covariance))
    lineages = tuple(
        LineageAnswer(
            float(values.effects[place]),
            tuple(map(float, values.shares[place])),
            tuple(map(float, difference[:3])) if difference else None,
            0.0 if alike else float(values.reliability[place]),
            float(chances.best[place]) if chances else None,
            float(chances.worst[place]) if chances else None,
        )
        for place, difference in enumerate(values.differences)
    )
    deviations = {name: float(value) for name, value in fit.deviations.items()}
    places = chances.places if chances else 0
    heritability = _heritability(cells, fit, len(labels))
    return ModelAnswer(lineages, deviations, tuple(fit.singular), places, heritability, lineage_fit_check(cells, fit))


def _heritability(cells, fit, families):
    others = {name: deviation for name, deviation in fit.deviations.items() if name != LINEAGE}
    deviation, error = fit.deviations[LINEAGE], fit.log_errors.get(LINEAGE, 0.0)
    return family_heritability(float(fit.fixed[cells.groups.index("")]), deviation, error, others, families)
