"""Small pedigrees with published numbers, and the tabular method that knows nothing of the code under test."""

from fractions import Fraction

# Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., table 2.1: (name, dam, sire)
MRODE = [("1", "", ""), ("2", "", ""), ("3", "2", "1"), ("4", "", "1"), ("5", "3", "4"), ("6", "2", "5")]
# Henderson 1976, Biometrics 32:69-83, the example of seven animals
HENDERSON = [("3", "", "1"), ("4", "2", "1"), ("5", "4", "3"), ("6", "4", "1"), ("7", "6", "5")]


def tabular(rows):
    """Relationship matrix A in exact fractions as {(name, name): value}; rows must have parents first.

    The tabular method: Emik & Terrill 1949, J. Hered. 40:51-55; Mrode 2014, section 2.3.
    """
    relationship = {}
    names = []
    for name, mother, father in rows:
        known = [parent for parent in (mother, father) if parent]
        for other in names:
            value = sum((relationship[other, parent] for parent in known), Fraction(0)) / 2
            relationship[name, other] = relationship[other, name] = value
        relationship[name, name] = 1 + (relationship[mother, father] / 2 if len(known) == 2 else Fraction(0))
        names.append(name)
    return relationship
