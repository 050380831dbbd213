"""Drafts of data for an application: certificate of identity and phytosanitary certificate.

A draft is never a certificate: it has no number, no seal, no signature, and every page says so. The heads are those of the
two international forms, in their order; both lists are from memory and must be checked against the form of the authority.
"""

from collections.abc import Mapping

from registry.calc.shared.marked import gettext_noop
from registry.prints.document import Alert, Document, Facts, Notes, Part

DRAFT = "DRAFT – data for an application; only the authority issues a certificate"
NOT_RECORDED = "not recorded"
FOR_AUTHORITY = "left blank for the authority"
IN_QUESTION = gettext_noop("IDENTITY IN QUESTION")

# OECD Forest Seed and Plant Scheme, Decision C(2007)69 as amended: the four categories read at oecd.org; the basic material of
# each from memory (Directive 1999/105/EC, Annexes I to V, the same in the Scheme).
CATEGORY_MATERIAL = {
    "source-identified": ("seed source", "stand"),
    "selected": ("stand",),
    "qualified": ("seed orchard", "parents of family(ies)", "clone", "clonal mixture"),
    "tested": ("stand", "seed orchard", "parents of family(ies)", "clone", "clonal mixture"),
}

# Certificate of identity for seed orchards and families: OECD Scheme, the same heads as the Master Certificate of Directive
# 1999/105/EC, Annex VIII part B; from memory. The last four are those of the seed label.
IDENTITY_HEADS = (
    ("certificate_no", "Certificate no."),
    ("botanical_name", "Botanical name"),
    ("nature", "Nature of the material (seed units, parts of plants, planting stock)"),
    ("category", "Category"),
    ("basic_material", "Type of basic material"),
    ("purpose", "Purpose"),
    ("register_reference", "Register reference of the basic material"),
    ("status", "Autochthonous or indigenous status"),
    ("origin", "Origin, if introduced"),
    ("location", "Country and region of provenance, or location"),
    ("pollination", "Pollination (open, supplemental, controlled)"),
    ("year", "Year in which the seed ripened"),
    ("quantity", "Quantity"),
    ("subdivision", "Subdivision of an earlier lot (certificate no., initial quantity)"),
    ("nursery_time", "Time in the nursery"),
    ("components", "Number of families or clones"),
    ("altitude", "Altitude of the basic material"),
    ("modification", "Genetic modification"),
    ("crossing", "Crossing design and percentage of component families"),
    ("propagation", "Later vegetative propagation"),
    ("other", "Other relevant information"),
    ("supplier", "Supplier"),
    ("authority", "Authority"),
    ("signature", "Signature"),
    ("date", "Date"),
)
SEED_LABEL_HEADS = (
    ("purity", "Purity (%)"),
    ("germination", "Germination (%)"),
    ("thousand_seed_weight", "Weight of 1,000 seeds (g)"),
    ("germinable", "Germinable seeds per kg"),
)

# Model phytosanitary certificate: ISPM 12 (IPPC, 2011), Annex 1; from memory.
HEALTH_HEADS = (
    ("no", "No."),
    ("organization", "Plant Protection Organization of"),
    ("to", "To: Plant Protection Organization(s) of"),
)
HEALTH_CONSIGNMENT_HEADS = (
    ("exporter", "Name and address of exporter"),
    ("consignee", "Declared name and address of consignee"),
    ("packages", "Number and description of packages"),
    ("marks", "Distinguishing marks"),
    ("origin", "Place of origin"),
    ("conveyance", "Declared means of conveyance"),
    ("entry", "Declared point of entry"),
    ("produce", "Name of produce and quantity declared"),
    ("botanical_name", "Botanical name of plants"),
)
HEALTH_DECLARATION_HEADS = (("declaration", "Additional declaration"),)
HEALTH_TREATMENT_HEADS = (
    ("date", "Date"),
    ("treatment", "Treatment"),
    ("chemical", "Chemical (active ingredient)"),
    ("duration", "Duration and temperature"),
    ("concentration", "Concentration"),
    ("information", "Additional information"),
)
HEALTH_CLOSING_HEADS = (
    ("place", "Place of issue"),
    ("stamp", "Stamp of the organization"),
    ("officer", "Name of authorized officer"),
    ("day", "Date"),
    ("signature", "Signature"),
)
_OF_AUTHORITY = {"certificate_no", "authority", "signature", "date", "no", "organization", "place", "stamp", "officer", "day"}


def highest_category(basic_material: str) -> str:
    """The highest category that can be applied for without the authority's own selection or test.

    Parameters
    ----------
    basic_material : str
        One of the types named in `CATEGORY_MATERIAL`; another word is material nothing is known of.

    Returns
    -------
    str
        "source-identified" or "qualified", never "selected" or "tested": those follow an act of the authority that the
        records do not hold. Blank when none can be applied for.

    Source
    ------
    OECD Forest Seed and Plant Scheme as above: an untested orchard is at most "qualified".

    Examples
    --------
    >>> highest_category("seed orchard"), highest_category("stand"), highest_category("")
    ('qualified', 'source-identified', '')
    """
    for category in ("source-identified", "qualified"):
        if basic_material in CATEGORY_MATERIAL[category]:
            return category
    return ""


def identity_draft(facts: Mapping[str, str], *, questions: tuple[str, ...] = (), **head) -> Document:
    """Data for a certificate of identity, under the heads of the OECD Forest Seed and Plant Scheme (from memory).

    Parameters
    ----------
    facts : mapping of the keys of `IDENTITY_HEADS` and `SEED_LABEL_HEADS` to text
        What is missing or blank is printed as "not recorded". The category is worked out here from `basic_material`;
        number, authority, signature and date are never filled, whatever is given.
    questions : tuple of str
        Open questions about the identity, printed before anything else.
    **head
        title, code, scan, made_on and made, as of `Document`.
    """
    category = highest_category(facts.get("basic_material", ""))
    facts = {**facts, "category": f"{category} at most; the authority decides" if category else ""}
    parts: list[Part] = [*_question_alert(questions)]
    parts += [
        Facts(_rows(IDENTITY_HEADS, facts), title="Certificate of identity", blank=NOT_RECORDED),
        Facts(_rows(SEED_LABEL_HEADS, facts), title="For the label of seed", blank=NOT_RECORDED),
        _before_sending("OECD Forest Seed and Plant Scheme"),
    ]
    return Document(parts=tuple(parts), subtitle="Heads of the OECD Forest Seed and Plant Scheme, from memory.", draft=DRAFT, **head)


def health_draft(facts: Mapping[str, str], treatments: list[Mapping[str, str]], *, questions: tuple[str, ...] = (), **head) -> Document:
    """Data for a phytosanitary certificate, under the heads of the model of ISPM 12, Annex 1 (from memory).

    Parameters
    ----------
    facts : mapping of the keys of the heads to text
        As of `identity_draft`; stamp, officer, place, date and signature are never filled.
    treatments : list of mappings of the keys of `HEALTH_TREATMENT_HEADS`
        Each treatment on file; one blank set is printed where there is none.
    questions, **head
        As of `identity_draft`.
    """
    several = len(treatments) > 1
    parts: list[Part] = [*_question_alert(questions)]
    parts += [
        Facts(_rows(HEALTH_HEADS, facts), title="Phytosanitary certificate", blank=NOT_RECORDED),
        Facts(_rows(HEALTH_CONSIGNMENT_HEADS, facts), title="I. Description of consignment", blank=NOT_RECORDED),
        Facts(_rows(HEALTH_DECLARATION_HEADS, facts), title="II. Additional declaration", blank=NOT_RECORDED),
    ]
    for number, treatment in enumerate(treatments or [{}], start=1):
        heading = f"III. Disinfestation or disinfection treatment{f' {number}' if several else ''}"
        rows = tuple((label, treatment.get(key, "")) for key, label in HEALTH_TREATMENT_HEADS)
        parts.append(Facts(rows, title=heading, blank=NOT_RECORDED))
    parts += [Facts(_rows(HEALTH_CLOSING_HEADS, facts), title="Issue", blank=NOT_RECORDED), _before_sending("ISPM 12, Annex 1")]
    return Document(parts=tuple(parts), subtitle="Heads of the model certificate of ISPM 12, Annex 1, from memory.", draft=DRAFT, **head)


def _rows(heads, facts):
    return tuple((label, FOR_AUTHORITY if key in _OF_AUTHORITY else facts.get(key, "")) for key, label in heads)


def _question_alert(questions):
    return [Alert(f"{IN_QUESTION}: do not apply until it is settled", questions)] if questions else []


def _before_sending(source):
    return Notes(
        "Before it is sent",
        (
            f"The heads follow the {source}, written from memory. Check them against the form of the authority.",
            "The data are from our records on the day of printing. Check each line against the lot and its papers.",
            "Whether a certificate is needed, and which one: check with the authority.",
        ),
    )
