"""How each number of the comparison of lineages is made, in words.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.lineages.fit_words import fit_definition
from registry.calc.shared.worded import worded


def lineage_definitions() -> tuple[tuple[str, str], ...]:
    """How each number of the page is made, with formula and source: (term, sentences)."""
    return (
        (
            worded("Difference from the native check"),
            worded(
                "The mean over common sites of survival of the lineage less that of the native check there, each site weighted by"
                " n·m / (n + m) of its trees. The 95 %% interval is the wider of one over the sites (CR2 variance, Satterthwaite's"
                " degrees of freedom; Bell & McCaffrey 2002) and one over the trees (Newcombe 1998, method 10). It needs no "
                "model. Of 20 such intervals about one misses the truth, so with many lineages expect some to look better or "
                "worse than they are."
            ),
        ),
        (
            worded("Odds within sites, and whether the sites agree"),
            worded(
                "Odds to be alive, alive / dead, as a multiple of those of the native check on the same site, over all common sites "
                "(Mantel & Haenszel 1959; 95 %% interval of Robins, Breslow & Greenland 1986), with the test of no difference "
                "(Cochran–Mantel–Haenszel), adjusted for the number of lineages (Holm 1979). Whether the sites agree on one ratio is the "
                "test of Breslow & Day (1980); it needs about five trees alive and five dead on most sites. Trees count as independent "
                "within a site, so where the sites do not agree the interval of the ratio is too narrow; that of the difference is not."
            ),
        ),
        (
            worded("Shrunken value"),
            worded(
                "What a mixed model expects of the lineage: logit(share alive) = kind (under test, or kind of check) + site + "
                "lineage + lineage on site, and planting where a site has several. Kinds are fixed, the others normal with a "
                "standard deviation each, fitted to counts by maximum likelihood with Laplace's approximation (Breslow & Clayton "
                "1993; Bates et al. 2015), or by quadrature where one standard deviation is left. A lineage with few trees is "
                "drawn further towards the mean of all. The value is the "
                "mean over all sites here, so lineages on easy sites gain nothing. Its 95 %% interval takes the standard "
                "deviations as known: in simulations with 12 lineages on 4 to 16 sites it held the truth in 90 to 96 of 100 "
                "cases, fewest with five trees a site."
            ),
        ),
        fit_definition(),
        (
            worded("Heritability"),
            worded(
                "At the level of the mother tree, with ten mothers or more in the order. Observed scale: 4 × variance of the families' "
                "expected survival / p(1 − p), integrated over the effects of the model (de Villemereuil et al. 2016), p being the share "
                "alive. Liability: that × p(1 − p) / z², z being the height of the normal curve that cuts off p (Dempster & Lerner 1950). "
                "The 95 %% interval is from that of the families' standard deviation. The factor 4 takes the trees of a mother as half "
                "sibs."
            ),
        ),
        (
            worded("Reliability"),
            worded(
                "1 − variance of the error of a lineage's effect / variance of the effects. Near 0 the value says little more "
                "than the mean of all lineages; near 1 it is nearly all the lineage's own."
            ),
        ),
        (
            worded("Chance to be in the best or worst quarter"),
            worded(
                "From 10,000 draws of the true effects given the model, with their covariance and a fixed seed (Goldstein & "
                "Spiegelhalter 1996). The quarter is rounded up. Where no chance is near 1, the order is not certain, whatever "
                "the list looks like."
            ),
        ),
        (
            worded("Too thin or too large for the model"),
            worded(
                "Fewer than five lineages with five trees, fewer than three sites, or no lineage on two; or more than 1,000 sites, "
                "plantings and lineages together, which a model takes too long for. Then each share is drawn towards the "
                "mean by a beta distribution of lineages, fitted by maximum likelihood (Skellam 1948; Gelman et al. 2013): "
                "Beta(α + alive, β + n − alive). With fewer than three lineages, or none that differ, nothing is shrunken."
            ),
        ),
        (
            worded("Cannot tell"),
            worded(
                "A lineage with fewer than five trees assessed, without a native check on its sites, or with only one site in "
                "common with it has no place in the order. Its trees are in the model all the same. For so few trees the exact interval "
                "of Clopper & Pearson (1934) says what they can tell. Where no native check is assessed on any site, the others are "
                "compared with each other by their survival; that does not say whether any lives better than the native tree."
            ),
        ),
        (
            worded("Tried on simulated programmes"),
            worded(
                "Shrunken differences held the truth in 93 to 95 of 100 cases on 8 sites, in 92 on 4, shares shrunken by a beta "
                "distribution in 94 on 2 sites, heritability in 99 with 20 mothers. Of lineages that were given a chance of about 0.8 "
                "to be in the best quarter, 71 to 84 of 100 were. The interval of the odds held those of the sites it is from in 95 of "
                "100 cases, those of all sites there could be in 75 to 93, fewest where lineages react much to sites. Where lineages "
                "reacted to single sites, p of the odds was under 0.05 for 23 of 100 lineages that were no better and no worse on "
                "average. The standard deviations come out a little too small: those of sites by a tenth with 8 sites."
            ),
        ),
        (
            worded("What the order is not"),
            worded(
                "A model assumes: effects that are normal and add up on the logit scale, trees independent within a cell, sites "
                "as a sample of sites. It does not know of deer, drought or a wrong label. It proposes, people decide."
            ),
        ),
    )
