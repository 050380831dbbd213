"""How each number of the survival table is made: its formula and where the formula is from."""

from registry.calc.shared.worded import worded


def survival_formulas() -> tuple[tuple[str, str], ...]:
    """(term, formula with its source) of each number of the survival table and, last, of measurements.

    Source
    ------
    Definition of this programme, where the formula names nobody else.
    """
    return (
        (
            worded("Formula of survival"),
            worded(
                "p = x / n: x alive (resprouts too), n = planted − removed for reasons that are not biological − not visited − not "
                "located − unclear. Definition of this programme."
            ),
        ),
        (
            worded("Formula of the band"),
            worded(
                "From x / N to (x + u) / N: N = planted − removed for reasons that are not biological, u = not found, not located, unclear "
                "or not visited. Definition of this programme; the idea is Manski’s (1989)."
            ),
        ),
        (
            worded("Interval over the trees"),
            worded("(p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n), z = 1.96. Wilson 1927, J. Am. Stat. Assoc. 22, p. 209–212."),
        ),
        (
            worded("Interval over the sites"),
            worded(
                "Wilson’s formula with n / d for n and a quantile of t for z; d is the design effect, the variance over sites by that of "
                "as many independent trees (CR2). "
                "Bell & McCaffrey 2002, Surv. Methodol. 28, p. 169–181; Korn & Graubard 1998, ibid. 24, p. 193–201."
            ),
        ),
        (
            worded("Formula of the difference"),
            worded(
                "Σ w (p − q) / Σ w over common sites, w = n·m / (n + m): p of n trees of the lineage, q of m checks. Over the trees "
                "Newcombe 1998, Stat. Med. 17, p. 873–890, method 10; over the sites CR2 with Satterthwaite’s degrees of freedom."
            ),
        ),
        (
            worded("Formula of disease pressure"),
            worded("Native checks with a canker / native checks looked at. Its interval is made as that of survival."),
        ),
        (
            worded("Formula of mean and spread"),
            worded("Mean = Σ y / n. Standard deviation = √(Σ (y − mean)² / (n − 1)). Share of a class = trees of the class / n."),
        ),
    )
