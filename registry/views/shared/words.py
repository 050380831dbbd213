"""Words that a page declares."""


def words_of(page, name):
    """What a page declares under a name: a text, which may name the record and the result ("Close {object.code}"), or a property."""
    declared = getattr(type(page), name)
    if not isinstance(declared, str):
        return getattr(page, name)
    return declared.format(object=getattr(page, "object", None), result=getattr(page, "result", None))
