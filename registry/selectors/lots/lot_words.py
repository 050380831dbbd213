"""What prints say about lots, in words: what it is, when it was harvested, what it weighs, how it was treated and is to be stored."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext, gettext_noop

from registry.calc.pedigree.generation import expected_native_share
from registry.calc.shared.screen import day_words
from registry.choices import LedgerKind, LotKind, LotOrigin, MaterialForm, TaxonRole, TreatmentKind
from registry.models import IdentityQuestion, LedgerEntry, Lot, PedigreeTree, PollenPoolMember
from registry.selectors.identity.descent import ancestors, linked, lots_origins
from registry.selectors.identity.questions import PREFETCHED
from registry.selectors.lots.handbook import dies_dry_or_frozen, handbook_row
from registry.selectors.lots.treated import treatments_behind
from registry.selectors.pedigree.lineage import Lineage, lot_lineages
from registry.selectors.shared.local_words import local_day, local_days, local_number

__all__ = [
    "LotWords",
    "day_words",
    "engineered_trees",
    "handling_words",
    "lot_question_words",
    "lot_words",
    "mass_words",
    "share_words",
    "treatment_line",
]

KEEP_COOL = gettext_noop("KEEP 1–4 °C, DO NOT FREEZE")  # common practice for seed that dies when dried or frozen, and for dormant plants


@dataclass(frozen=True, slots=True)
class LotWords:
    """What any print says about a lot. `questions` are the open questions about its identity, in words.

    `treated` and `pesticides` are of what is in the lot, whatever lots it was split or bulked from. `treatments` holds pairs of what was
    treated (this lot, another, or the seed its plants were raised from) and how.
    """

    lot: Lot
    lineage: Lineage
    what: str
    generation: str
    harvested: str
    treated: str
    treatments: tuple[tuple[str, str], ...]
    pesticides: tuple[str, ...]
    grams_each: float | None
    questions: tuple[str, ...]

    @property
    def when(self):
        """When it was harvested; the year alone where no day is known, the year of raising for plants."""
        if self.harvested:
            return gettext("harvested %(days)s") % {"days": self.harvested}
        words = gettext("harvest %(year)s") if self.lot.kind == LotKind.SEED else gettext("raised %(year)s")
        return words % {"year": self.lot.year} if self.lot.year else ""

    @property
    def hybrid(self):
        return self.generation != "native"


def mass_words(grams):
    """'1.9 kg', '850 g'; blank when not known."""
    if not grams:
        return ""
    return local_number(f"{grams / 1000:,.2f}") + " kg" if grams >= 1000 else local_number(f"{grams:,.0f}") + " g"


def share_words(record):
    """The expected native share of a tree or lot by its generation, in words that make no promise about one tree."""
    share = expected_native_share(record.generation) if record.generation else None
    if share is None:
        return ""
    if record.generation.code in ("native", "donor"):
        return f"{record.generation.code}, by its pedigree"
    return f"{share} native on average of the generation, not of one tree"


def lot_words(lots):
    """{lot's key: LotWords}: about ten queries, whatever the number of lots."""
    lots = list(lots)
    lineages = lot_lineages(lots)
    lines = _lines_of_descent(lots)
    harvested, grams = _harvests({pk for line in lines.values() for pk in line})
    treatments = treatments_behind(lots)
    questions = _open_questions(lots)
    return {
        lot.pk: _words(lot, lineages[lot.pk], lines[lot.pk], harvested, grams, treatments[lot.pk], questions[lot.pk]) for lot in lots
    }  # fmt: skip


def _words(lot, lineage, line, harvested, grams, treatments, questions):
    generation = lot.generation_code or lineage.generation
    first = next((pk for pk in line if pk in harvested), None)
    same = [item for item in treatments if item.kind == lot.kind]
    return LotWords(
        lot=lot,
        lineage=lineage,
        what=_what(lot, generation),
        generation=generation,
        harvested=local_days(*harvested[first]) if first else "",
        treated="; ".join(_treated_line(item) + (f" (lot {item.lot})" if item.lot != lot.code else "") for item in same),
        treatments=tuple((_given_to(item, lot), _treated_line(item)) for item in treatments),
        pesticides=tuple(item.treatment.product for item in same if item.treatment.kind == TreatmentKind.PESTICIDE),
        grams_each=grams.get(first) if lot.kind == LotKind.SEED else None,
        questions=tuple(questions),
    )


def _treated_line(item):
    line = treatment_line(item.treatment)
    return line if item.is_sure else gettext("%(treatment)s; day not recorded, may be after it left that lot") % {"treatment": line}


def _given_to(item, lot):
    if item.kind != lot.kind:
        return gettext("as seed, lot %(lot)s") % {"lot": item.lot}
    return gettext("lot %(lot)s") % {"lot": item.lot} if item.lot != lot.code else gettext("this lot")


def _what(lot, generation):
    """The species with the hybrid wording that must never be left out."""
    if generation == "native":
        return lot.taxon.name
    if lot.taxon.role == TaxonRole.DONOR or generation == "donor":
        return gettext("%(species)s, donor species, not native") % {"species": lot.taxon.name}
    if generation == "not stated":
        return gettext("%(species)s, generation not stated") % {"species": lot.taxon.name}
    return gettext("%(species)s, hybrid material, %(generation)s") % {"species": lot.taxon.name, "generation": generation}


def _lines_of_descent(lots):
    """{lot's key: keys of the lot itself and of those it was raised or split from, nearest first}. One query."""
    parents = dict(Lot.objects.filter(origin__in=(LotOrigin.SOWN, LotOrigin.SPLIT)).order_by().values_list("pk", "parent"))
    lines = {}
    for lot in lots:
        line = [lot.pk]
        while (parent := parents.get(line[-1])) and parent not in line:
            line.append(parent)
        lines[lot.pk] = line
    return lines


def _harvests(keys):
    """({lot: (first, last day of harvest)}, {lot: mean mass of a seed in grams}), from ledger entries that are not reversed."""
    days, weighed = {}, {}
    entries = LedgerEntry.objects.in_effect().filter(lot__in=keys, kind=LedgerKind.HARVESTED).order_by("on")
    for lot, on, quantity, mass_g in entries.values_list("lot", "on", "quantity", "mass_g"):
        first, _last = days.get(lot, (on, on))
        days[lot] = (first, on)
        if mass_g:
            count, grams = weighed.get(lot, (0, 0))
            weighed[lot] = (count + quantity, grams + mass_g)
    return days, {lot: grams / count for lot, (count, grams) in weighed.items()}


def treatment_line(treatment):
    """'hot water 3 Oct 2026, 49 °C, 20 min'."""
    parts = [
        f"{treatment.get_kind_display()} {local_days(treatment.started_on, treatment.ended_on or treatment.started_on)}",
        "" if treatment.temperature_c is None else local_number(f"{treatment.temperature_c:g} °C"),
        "" if treatment.minutes is None else local_number(f"{treatment.minutes:g} min"),
        treatment.product,
    ]
    return ", ".join(part for part in parts if part)


def _open_questions(lots):
    found = defaultdict(list)
    through = IdentityQuestion.lots.through.objects.filter(lot__in=[lot.pk for lot in lots], identityquestion__settled_on__isnull=True)
    pairs = list(through.order_by("identityquestion__raised_on", "identityquestion").values_list("lot", "identityquestion"))
    questions = IdentityQuestion.objects.select_related(*PREFETCHED).in_bulk({question for _lot, question in pairs})
    for lot, question in pairs:
        found[lot].append(question_words(questions[question]))
    return found


def question_words(question):
    words = {"about": question.about, "reason": question.reason, "day": local_day(question.raised_on)}
    return gettext("%(about)s: %(reason)s (raised %(day)s)") % words


def lot_question_words(words):
    """The open questions of several lots, each named once with the lots it marks."""
    marked = defaultdict(list)
    for item in words:
        for question in item.questions:
            marked[question].append(item.lot.code)
    return tuple(f"{', '.join(codes)}: {question}" for question, codes in marked.items())


def handling_words(typed: str, items, forms, use_by: date | None):
    """The handling line: as typed for the shipment, else by what is in it; with the day it must be planted by.

    Blank where nothing is typed and the records do not tell: a wrong temperature kills.
    """
    line = typed.strip() or _usual_handling(items, forms)
    if "PLANT BY" in line.upper():
        return line
    return ", ".join(part for part in (line, gettext("PLANT BY %(day)s") % {"day": local_day(use_by)} if use_by else "") if part)


def _usual_handling(items, forms):
    if not items or not set(forms) <= {MaterialForm.SEED, MaterialForm.BAREROOT}:
        return ""
    names = {item.lot.taxon.name for item in items if item.lot.kind == LotKind.SEED}
    return gettext(KEEP_COOL) if all(dies_dry_or_frozen(handbook_row(name)) for name in sorted(names)) else ""


def engineered_trees(lots):
    """Codes of the regulated engineered trees among all that these lots descend from, pollen parents included."""
    up = lots_origins({lot.pk for lot in lots})
    found, pools, wave = set(), set(), set(up.trees)
    new_pools = set(up.pools)
    while wave or new_pools:
        wave |= set(linked(PollenPoolMember.objects, "pool", new_pools, "tree")) - found
        above, named = ancestors(wave)
        found |= wave | above
        pools |= new_pools
        new_pools, wave = named - pools, set()
    return sorted(linked(PedigreeTree.objects.filter(regulated_engineered=True), "pk", found, "code"))
