"""The name that a record type has in stored records: the audit trail and the hashes in it.

A model may be renamed; what is in the chain may not. So each type has one name there for good: that of its model, unless `EARLIER` has
the name under which its first records were stored.
"""

__all__ = ["model_name", "stored_name"]

EARLIER = {"issuedprint": "issuedpaper"}  # {name of the model: its name in the audit trail}
_NOW = {stored: name for name, stored in EARLIER.items()}


def stored_name(model):
    """The name of a record type in the audit trail, such as "lot"; takes a model or a record."""
    return EARLIER.get(model._meta.model_name, model._meta.model_name)


def model_name(stored):
    """The name that a type in the audit trail has in the program of today, as its routes have it."""
    return _NOW.get(stored, stored)
