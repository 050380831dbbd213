"""The people every access test asks for: one of each role, and some who must see nothing."""

from tests import factories


def everyone():
    """{name: person}: one of each role, an outsider of each scoped role, a person with an unknown role."""
    people = {role: factories.person(role) for role in ("lead", "coordinator", "manager", "volunteer", "landowner", "auditor")}
    people["other volunteer"] = factories.person("volunteer")
    people["other landowner"] = factories.person("landowner")
    people["unknown role"] = factories.person("archivist")
    return people
