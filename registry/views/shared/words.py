"""Words that a page declares."""

from django.utils.functional import Promise


def words_of(page, name):
    """What a page declares under a name: a text, which may name the record and the result ("Close {object.code}"), or a property.

    A text that is marked for translation is read in the language of the page, and its places are filled then.
    """
    declared = getattr(type(page), name)
    if not isinstance(declared, (str, Promise)):
        return getattr(page, name)
    return str(declared).format(object=getattr(page, "object", None), result=getattr(page, "result", None))
