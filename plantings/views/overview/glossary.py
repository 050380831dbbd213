"""The words of the trade as the screens use them, in alphabetical order. Every word a screen uses without explaining it is here."""

from django.utils.functional import lazy
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from plantings.calc.survival.groups import LEVELS
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_list


def _lineage_words():
    levels = local_list([local_text(words) for words in LEVELS.values()], _("or"))
    return _("What a table compares, taken at one level: %(levels)s.") % {"levels": levels}


GLOSSARY = (
    (_("As recorded then"), _("The figure of an earlier round without what later rounds showed. The other figures use hindsight.")),
    (
        _("Asked back"),
        _("A census record about which the office has a question. The crew sees it on the page of the round; a correction answers."),
    ),
    (
        _("Assessed"),
        _("Somebody looked and the state of the tree is known, or the place was found empty. Survival is alive of those assessed."),
    ),
    (_("Band"), _("The range beside a survival figure, from “every unaccounted tree is dead” to “every one is alive”.")),
    (_("Bulk lot"), _("Several lots mixed. Once seeds are mixed, their mother tree can no longer be told: it is recorded as “bulk”.")),
    (_("Cap"), _("The largest quantity a paper covers. Shipments and plantings under the paper are counted against it.")),
    (
        _("Check"),
        _("A tree of known kind planted for comparison: native, first hybrid or donor. Lineages are compared with the native check."),
    ),
    (_("Clock"), _("The time within which an authority must be told of an incident. It starts when the incident is discovered.")),
    (
        _("Complete census"),
        _("A round far enough along to enter the figures, see Round. The lead sets what share of the positions must be assessed."),
    ),
    (
        _("Counted plot"),
        _(
            "A plot whose trees are counted, not tagged. In an old planting nobody may know how many were planted there: such a plot has "
            "counts over time on the page of its planting and no survival, and is in no share, total or map."
        ),
    ),
    (
        _("County"),
        _(
            "Part of a state that some rules name. In the United States it follows from the point or the boundary of a site; see What to "
            "do."
        ),
    ),
    (
        _("Coverage"),
        _(
            "The page of the rounds that are open, open soon or closed within a year: who goes where, what is done, what was not visited, "
            "and why."
        ),
    ),
    (_("Cull"), _("Plants of a stock lot taken out in the nursery, with the reason. The ledger of the lot goes down.")),
    (
        _("Determination"),
        _("A stored answer of the gate: the question, the rules and papers on that day, what was missing, who overrode it and why."),
    ),
    (_("Duty"), _("What a paper requires by a day. A duty goes on after the paper has ended, until it is closed.")),
    (_("Entry"), _("One lot in one role in a planting.")),
    (
        _("Expected share"),
        _(
            "The part of the genome from each founder species that the pedigree leads one to expect. It is an average; no single "
            "tree is promised it."
        ),
    ),
    (
        _("Family"),
        _("Progeny of one mother and one father, pool or pollination. Trees of an open-pollinated family are not all full siblings."),
    ),
    (_("Field form"), _("The printed census form that the crew fills in. It is keyed in the grid of the round.")),
    (
        _("Floor"),
        _("The fewest mother trees of a line or source, and the least diversity, to leave in an orchard. Going below one needs a reason."),
    ),
    (
        _("Gate"),
        _("The check before material is shipped or planted: which rules apply, and which paper covers each line. It is not legal advice."),
    ),
    (_("Generation"), _("Backcrosses and intercrosses after the first hybrid, written F1, B1 … B3F2, B3F3.")),
    (_("Growing seasons completed"), _("The age at which tables compare plantings.")),
    (
        _("Impact"),
        _("All that depends on the identity of a record: who has it, where it is planted, which papers and prints name it."),
    ),
    (
        _("In question"),
        _("Somebody doubts the identity of a tree, lot or pool. Everything made from it carries the mark until the question is settled."),
    ),
    (_("Interval"), _("The range that holds the true share with 95 % confidence.")),
    (
        _("Kappa"),
        _(
            "Agreement of two people beyond what chance alone would give: 1 is complete, 0 no more than chance. It is low where nearly all "
            "trees have one class, even if both agree nearly everywhere."
        ),
    ),
    (
        _("Ledger"),
        _("What came into a lot and what left it, line by line. A line never changes: a wrong one is reversed by another."),
    ),
    (_("Leftover"), _("What was received and not planted: returned, destroyed or still held.")),
    (
        _("Lineage"),
        lazy(_lineage_words, str)(),
    ),
    (_("Lot"), _("Seed or plants of one origin: a mother's harvest of one year and orchard state, a bulk, or material from outside.")),
    (
        _("Map of every round"),
        _(
            "The positions of a planting at each census, by fate, height or canker, opened from the page of the planting. Form and size of "
            "a mark tell it apart, not its colour alone. The words below each map say the same in numbers."
        ),
    ),
    (
        _("Measured share"),
        _("A share of the genome found by a laboratory. It is recorded beside the expected share and never replaces it."),
    ),
    (_("Mother tree"), _("The tree a seed was picked from. Its record stays after it is rogued, since its descendants refer to it.")),
    (_("Override"), _("The lead goes on although the gate stops it, and gives the reason. Both are stored with the answer.")),
    (
        _("Page code"),
        _(
            "The code at the foot of each page of a field form, also as a QR code. Typed into the box for codes, or scanned, it opens the "
            "grid of exactly the trees of that page. A form printed again with the same trees has the same codes, and older codes still "
            "work."
        ),
    ),
    (_("Paper"), _("A legal paper: permit, certificate, licence, notification, consent, agreement, or the finding that none is needed.")),
    (
        _("Pollen pool"),
        _("The fathers of an open-pollinated lot: the trees that flowered in one orchard block in one year, and pollen from outside."),
    ),
    (_("Pool"), _("A pollen pool.")),
    (
        pgettext_lazy("one tree", "Presumed dead"),
        _("Not found at two rounds running. It is calculated, never typed, and ends when the tree is seen again."),
    ),
    (_("Print"), _("A PDF made here: a label, a tag, a packing list, a permit file, a field form.")),
    (
        _("Protocol"),
        _(
            "What a census round asks for at each tree, in versions: measurements every programme has, and its own. A round without a "
            "protocol asks for all that the field form has. The lead writes protocols; a version never changes."
        ),
    ),
    (_("Receipt"), _("The receiver's own record of what arrived. A shipment without one is an open question, not delivered.")),
    (_("Received"), _("A census record that came in and that nobody has reviewed yet. The lead sets whether it counts until then.")),
    (_("Recurrent line"), _("The descent of one native parent within a source.")),
    (_("Rejected"), _("A census record that does not count, with the reason. It stays on file, and its position is open again.")),
    (
        _("Review"),
        _("The office reads the census records that came in: accepts, asks back or rejects them. Each decision is a record of its own."),
    ),
    (_("Rogued"), _("Taken out of the orchard, which two people decide. The record of the tree stays.")),
    (
        _("Role of an entry"),
        _("Test or check (counted in survival), buffer or filler (never counted). A replacement is a filler: the original stays dead."),
    ),
    (
        _("Round"),
        _(
            "One yearly census of a planting. It is complete when its window has closed or every position is settled, and enough positions "
            "were assessed. Until then it is progress, not a result."
        ),
    ),
    (
        _("Rule"),
        _("What the programme wrote down of a regulation, with its edition. Until somebody has asked the authority it is “not verified”."),
    ),
    (
        _("Second measurement"),
        _(
            "Some trees of a round, drawn by chance, that another person records again without seeing the first records. It tells how far "
            "two people agree, and is in no figure of survival."
        ),
    ),
    (
        _("Second person"),
        _(
            "The other of two. Of a decision to keep or to rogue a tree: the one who confirms it. Of a second measurement: the one who "
            "records the drawn trees again."
        ),
    ),
    (
        _("Seen but state unclear"),
        _("Status SU: the tree was seen, but not whether it lives. It is not assessed, and never counts as dead."),
    ),
    (
        _("Self-sown seedlings"),
        _(
            "Seedlings that came up by themselves. They are noted on the page of a round, with the place and the number if counted, and "
            "are in no figure of planted trees or sown seed."
        ),
    ),
    (_("Share"), _("A part of a whole from 0 to 1: of trees that live, of seeds that germinate, of a genome.")),
    (_("Sheet"), _("A table that is loaded or downloaded, as CSV or XLSX.")),
    (_("Source of resistance"), _("The donor-derived ancestor through which resistance came.")),
    (_("Sown as seed"), _("Grown from seed put into the ground where it is to stay. It is never added to the survival of planted trees.")),
    (_("Stock lot"), _("Plants raised from a seed lot.")),
    (
        _("Taken back"),
        _("Entered by mistake: a dispatch, a receipt or a leftover that counts nowhere. It stays on file with the reason."),
    ),
    (
        _("Test material"),
        _("Restricted material, not for sale or gift. Check with the local authority which rules apply to it where you are."),
    ),
    (_("Volunteer (person)"), _("Somebody who helps. A seedling that came up by itself is called self-sown.")),
)
