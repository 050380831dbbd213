"""What to do when something went wrong, or waits for somebody: the answers of Help."""

from django.utils.translation import gettext_lazy as _

from registry.access.sign_in import MAILS_BY_PERSON, WAIT, WRONG_BY_PERSON, WRONG_IN_A_ROW
from registry.selectors.shared.local_units import local_amount

_ANSWERS = (
    (
        _("A dispatch was entered by mistake"),
        _(
            "Open the shipment and take the dispatch back, with the reason. The lots and the papers with a cap have back what it drew, "
            "and it is a draft again. If it has a receipt, take that back first. A box that really left is not taken back: enter what "
            "arrived."
        ),
    ),
    (
        _("A receipt or a leftover was entered by mistake"),
        _(
            "Open the receipt, or the leftovers on the page of the shipment, and take it back, with the reason. It stays on file and "
            "counts nowhere. Then enter the right one. What was planted or used since must be corrected first."
        ),
    ),
    (
        _("A census record or the count of a plot is wrong"),
        _(
            "Correct it on the page of the tree or of the plot counts: the earlier record stays on file. The crew corrects its own records "
            "while the round is open; the office corrects any."
        ),
    ),
    (
        _("A page of the field form is keyed twice"),
        _(
            "Open it by its page code. To another person than the first it shows empty boxes; when they save, both keyings are compared "
            "and nothing else is stored. Today and the page of the round list the pages that differ. Look at the form and choose for each "
            "cell what the first or the second person keyed, or type what it says: that corrects the record. Whoever keyed the page first "
            "and opens it again is told so. A page whose trees were recorded by phone or in a sheet is compared with those records in the "
            "same way."
        ),
    ),
    (
        _("Where photos of filled-in field forms go"),
        _(
            "Send them on the page of the round, or from the grid of a printed page: JPG, PNG or PDF. With a page code they are shown "
            "above the grid of that page while somebody keys it. What the camera wrote into a photo, such as the place, is not stored. The "
            "office sees all of them, a volunteer their own."
        ),
    ),
    (
        _("How far the census can be trusted"),
        _(
            "Have a second person measure some of the trees again. The lead draws them on the page of the round: 5 to 10 % of the "
            "recorded trees, in one round of ten (common practice). Whoever recorded a tree first cannot be its second person. A "
            "volunteer with an account sees neither the drawn trees nor their records until all are measured again; for somebody without "
            "one, print the form of the drawn trees and key it, or load it as a sheet. The office can open the first records at any "
            "time, and the result says how many trees one of the office measured. No value is shown before every drawn tree has a second "
            "measurement; the lead closes what nobody reached. Then the page of the draw compares both by the tolerances in the "
            "programme's settings."
        ),
    ),
    (
        _("A record arrives after the result was printed"),
        _(
            "The page of the round lists the results that were given out and counts the records and reviews that came after each. Print "
            "it again for the crew. The page of survival names such results. Downloads of survival say on which day they were read, "
            "how many records behind each row nobody had reviewed, and whether those counted; they are not recorded, so nothing is "
            "marked on them later."
        ),
    ),
    (
        _("How to repeat the draw of a second measurement"),
        _(
            "Download the trees on the page of the draw. They are in walk order, cut into as many stretches as trees were drawn. Of each "
            "stretch the tree with the smallest SHA-256 of “seed:tag” is drawn, which any program for hashes can work out again."
        ),
    ),
    (
        _("A verification of a rule is wrong"),
        _(
            "Correct it on the page of the rule. All verifications stay on file with their days, and an answer about an earlier day goes "
            "by the one that counted then."
        ),
    ),
    (
        _("A decision needs a second person"),
        _(
            "Two people decide to keep or to rogue a tree. One enters the decision and names the other, who signs in and confirms it; "
            "somebody without an account of that name gets a link that ends. Until then the decision counts, and Today and its page say "
            "that it waits. One person under two spellings of a name is refused."
        ),
    ),
    (
        _("In which county a site is"),
        _(
            "In the United States the county follows from the point or the boundary of the site, by the outlines of the Census Bureau "
            "that come with the program. Elsewhere it is typed, and answers of the gate say that nobody checked it. Near a border the "
            "place may be in either county, and the rules of both apply until somebody sets it on the page of the site."
        ),
    ),
    (
        _("How to take all records out"),
        _(
            "A backup restores this site: one encrypted file that only Mastbook reads. An export is for reading without this site: a "
            "folder with one table for each record type, the files that people sent and a text that explains both. Whoever runs the "
            "server makes them with manage.py backup and manage.py export_book; the README says how."
        ),
    ),
)
_NO_SIGN_IN = (
    _("Somebody cannot sign in"),
    _(
        "After %(wrong)s wrong passwords an account is locked for %(minutes)s, and after %(in_a_row)s in a row until its owner sets a "
        "new one by mail or a coordinator unlocks it on the page of the person. A new one can be asked for by mail %(mails)s times an "
        "hour. Who left the programme cannot sign in any longer."
    ),
)


def what_to_do():
    """[(what happened, what to do about it)] in the language of the reader."""
    when, words = _NO_SIGN_IN
    minutes = local_amount(int(WAIT.total_seconds() // 60), "minutes")
    numbers = {"wrong": WRONG_BY_PERSON, "in_a_row": WRONG_IN_A_ROW, "mails": MAILS_BY_PERSON, "minutes": minutes}
    return [*_ANSWERS, (when, words % numbers)]
