"""What landowners sign, and who signed it."""

from plantings.imports.demo.programme.people import papers

TITLE = "Planting agreement (example, not law)"

_FIRST = (
    "The programme plants test trees on the parcel named in the annex, visits them each year and measures them. "
    "The programme tells the landholder a week before each visit.",
    "The trees, their nuts and their wood stay in the care of the programme. No nuts, scions or trees are sold, given away or "
    "propagated. The programme may gather nuts and pollen before trees are removed.",
)
_LATER = (
    "Nothing is cut, mown with machines or sprayed within 5 m of a tree without a call before. Livestock stays outside the fence. "
    "The landholder names the dates of hunting, so that nobody of the programme walks there then.",
    "When the land is sold or inherited, the new owner signs this agreement or the trees come out within a season.",
)
# Signed on paper on the day the agreement begins, by the contact of the partner; Merrowfield's new owner has signed nothing. One owner
# signed the later wording too.
_SIGNED_AGAIN = ("EX-AGR-01", "2024-03-09")
_VERSIONS = (("2018", _FIRST), ("2024", _FIRST + _LATER))


def agreement_texts():
    return [{"title_text": TITLE, "version": version, "body": "\n\n".join(parts), "is_example": "yes"} for version, parts in _VERSIONS]


def agreement_signatures():
    """One for each agreement of the demo, on the day it begins, of the wording there was then; and one of the later wording."""
    agreements = {paper["code"]: paper for paper in papers() if paper["code"].startswith("EX-AGR-")}
    again, day = _SIGNED_AGAIN
    return [
        *(_signature(paper, "2018", paper["starts_on"]) for paper in agreements.values()),
        _signature(agreements[again], "2024", day),
    ]


def _signature(paper, version, day):
    return {
        "authorization": paper["code"], "text_title": TITLE, "text_version": version, "signed_by": paper["holder_person"],
        "signed_on": day, "how": "paper",
    }  # fmt: skip
