"""A survival figure in the language of the reader, as `survival_text` writes it in English."""

from django.utils.translation import gettext

from plantings.calc.survival.survival import number_words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_count, local_number

__all__ = ["figure_words"]


def figure_words(result):
    """'0.69 (0.62–0.75), n 180 of 195, band 0.62–0.75'; under ten trees the count first; why there is none."""
    if result.share is None:
        return local_text(result.reason)
    parts = _parts(result)
    if result.band_low is not None and f"{result.band_low:.2f}" != f"{result.band_high:.2f}":
        parts.append(gettext("band %(band_words)s") % {"band_words": _between(result.band_low, result.band_high)})
    return ", ".join(parts)


def _parts(result):
    if not result.count_leads:
        share = local_number(f"{result.share:.2f}")
        number = local_text(number_words(result.n, result.countable))
        return [f"{share} ({_between(result.interval.low, result.interval.high)})", number]
    count = gettext("%(alive)s of %(n)s") % {"alive": local_count(result.alive), "n": local_count(result.n)}
    if result.n == result.countable:
        return [count]
    return [f"{count} {gettext('assessed, %(planted)s planted') % {'planted': local_count(result.countable)}}"]


def _between(low, high):
    return local_number(f"{low:.2f}–{high:.2f}")
