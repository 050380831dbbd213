"""What an agreement says about something a landowner may ask: its own sentences, word by word, and nothing else.

Nothing here reads meaning into a text. Sentences that use one of a few plain words are found; that a text has no such
sentence says nothing about whether a thing may be done.
"""

import re
from dataclasses import dataclass

__all__ = ["TOPICS", "Topic", "sentences_about"]


@dataclass(frozen=True, slots=True)
class Topic:
    """Something a landowner asks about. `beginnings` are beginnings of words, in lower case, that are used for it.

    Where `beside` is given, one of these words or its plural must be in the same sentence: the sale of nuts is not the sale of land.
    """

    key: str
    beginnings: tuple[str, ...]
    beside: tuple[str, ...] = ()


# What landowners ask and in these words, in English and French: common practice, no source.
TOPICS = (
    Topic(
        "cut",
        (
            "cut",
            "felled",
            "felling",
            "clear",
            "logg",
            "logs",
            "sawn",
            "sawing",
            "mow",
            "prun",
            "thinn",
            "timber",
            "wood",
            "remov",
            "coupe",
            "coupé",
            "abatt",
            "abatage",
            "élag",
            "fauch",
            "débroussaill",
            "éclairci",
            "bois",
            "enlev",
        ),  # fmt: skip
    ),
    Topic(
        "spray",
        (
            "spray",
            "pesticid",
            "herbicid",
            "fungicid",
            "insecticid",
            "chemical",
            "treat",
            "pulvéris",
            "épand",
            "fongicid",
            "chimique",
            "traite",
            "traité",
        ),  # fmt: skip
    ),
    Topic(
        "graze",
        (
            "graz",
            "pastur",
            "livestock",
            "cattle",
            "sheep",
            "goat",
            "horse",
            "fenc",
            "pâtur",
            "pacag",
            "bétail",
            "mouton",
            "chèvre",
            "cheva",
            "vache",
            "clôtur",
        ),  # fmt: skip
    ),
    Topic("hunt", ("hunt", "shoot", "trap", "firearm", "chass", "tirer", "piég", "piège", "arme à feu", "armes à feu")),
    Topic(
        "sell",
        (
            "sell",
            "sold",
            "sale",
            "inherit",
            "heir",
            "lease",
            "new owner",
            "hand on",
            "handed on",
            "change hands",
            "changes hands",
            "changed hands",
            "pass on",
            "passes on",
            "passed on",
            "transfer",
            "convey",
            "assign",
            "successor",
            "purchas",
            "buy",
            "bought",
            "change of owner",
            "owner changes",
            "ownership",
            "vend",
            "vente",
            "céd",
            "cède",
            "cession",
            "hérit",
            "succession",
            "bail",
            "louer",
            "loué",
            "location",
            "acquér",
            "achet",
            "achat",
            "change de propriétaire",
            "changement de propriétaire",
        ),
        (
            "land",
            "parcel",
            "property",
            "propertie",
            "ground",
            "estate",
            "farm",
            "woodlot",
            "holding",
            "owner",
            "ownership",
            "terrain",
            "terre",
            "parcelle",
            "propriété",
            "ferme",
            "boisé",
            "fonds",
            "lot boisé",
            "propriétaire",
        ),  # fmt: skip
    ),
    Topic(
        "nuts",
        (
            "nut",
            "seed",
            "scion",
            "cutting",
            "pollen",
            "propagat",
            "graft",
            "gift",
            "given away",
            "noix",
            "graine",
            "semence",
            "greff",
            "boutur",
        ),
    ),
)

# A sentence ends at . ! or ? before a space, or at the end of a line; "70.5" and "e.g. this" inside a line are rare enough to leave.
_ENDS = re.compile(r"(?<=[.!?])\s+|\s*\n\s*")


def sentences_about(topic: Topic, *texts: str) -> list[str]:
    """The sentences of the texts that use a word of the topic, as written, in their order, each once.

    Parameters
    ----------
    topic : Topic
    texts : str

    Returns
    -------
    list of str
        Empty when no sentence does. A word counts by its beginning: "cut" finds "cutting", not "execute". Where the topic names words
        beside it, the sentence has one of those too.

    Source
    ------
    Definition of this programme; which words speak of a topic is common practice, no source.

    Examples
    --------
    >>> sentences_about(TOPICS[5], "No nuts are sold. The owner is told a week before.")
    ['No nuts are sold.']
    """
    words = re.compile(r"\b(?:" + "|".join(re.escape(word) for word in topic.beginnings) + ")", re.IGNORECASE)
    beside = re.compile(r"\b(?:" + "|".join(re.escape(word) for word in topic.beside) + r")s?\b" if topic.beside else "", re.IGNORECASE)
    sentences = [sentence.strip() for text in texts for sentence in _ENDS.split(text)]
    return list(dict.fromkeys(sentence for sentence in sentences if words.search(sentence) and beside.search(sentence)))
