"""What Help says about the census on a phone."""

from django.utils.functional import lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.census.photos import PHOTOS_A_RECORD
from registry.selectors.shared.local_units import local_amount

__all__ = ["PHONE_HELP"]


def _photo_words():
    words = gettext(
        "Up to %(photos)s go with the record of a tree. The phone makes them smaller and leaves out the place and the camera. A photo "
        "taken before the word of its tree waits for it; undo brings both back. It is sent after its record, one at a time, and until then "
        "it can be taken away. A photo of a refused record waits with it, and can be saved as a file, which the coordinator adds to the "
        "record on the page of the tree. A record that is corrected or rejected later keeps its photos."
    )
    return words % {"photos": local_amount(PHOTOS_A_RECORD, "photos")}


PHONE_HELP = (
    (
        _("Before you go"),
        _(
            "Open the round and then “Record on a phone” once where there is a signal, and wait for “Ready”. From then on the page opens "
            "and works without one. Add it to the home screen: browsers delete what a page stores when nobody opens it for some weeks."
        ),
    ),
    (
        _("Cautions read"),
        _(
            "Before the first record the page shows the cautions of the round, and one tap says that you have read them. It is stored once "
            "for your name, the round and the wording, also without a signal, and the page asks again when the wording has changed. You "
            "can go on without it. The page of the round, the coverage and the permit file say who has read them, and in which language. "
            "No caution says that a place or a task is safe: the crew decides on the spot, and local rules come first."
        ),
    ),
    (
        _("At the tree"),
        _(
            "Type the readings, then tap the word. The word saves the tree and opens the next in walk order. The last reading shows only "
            "after you typed the new one. Where a reading looks odd the page asks; what you saw is saved as you saw it. The plan beside "
            "the boxes is of the planting, or of one block where the planting is large: the thin ring is the first tree, the thick one is "
            "where you are."
        ),
    ),
    (
        _("Typed and not saved"),
        _(
            "What is typed at a tree is on the phone at each letter, for this tree and the name on the first screen. If the phone closes "
            "the page, such as behind the camera, it is back in its boxes once the tree is opened again, until the word saves the tree."
        ),
    ),
    (
        _("Asked back"),
        _(
            "Where the coordinator asks about a record that came in, its tree or plot counts as left again on every phone of the "
            "crew, with an account or by a link. The first screen lists the questions. Whoever records in the round may answer, under "
            "their own name. At the tree the page shows the question, and with an account what is recorded; by a link it does not show "
            "that, since it may be the record of somebody else. What you save is the answer, also after the window. Whoever answers "
            "first corrects the record."
        ),
    ),
    (
        _("Counted plots"),
        _(
            "Where trees are counted and not tagged, the page asks plot by plot how many are alive and how many dead, then opens the next. "
            "A plot without a count is not visited. The last count shows only after you typed the new one; where the two do not fit, or "
            "plants are missing, the page asks, and the answer goes into the note. Counts are sent, refused and corrected as records of "
            "trees are; those that are not sent can be saved to a file that loads as a sheet of counts."
        ),
    ),
    (
        _("More than 1,000 trees"),
        _(
            "A large planting comes in parts of at most 500 trees, cut between blocks where it can be. The first screen lists them: fetch "
            "one, or all that are missing, where there is a signal. Only trees of parts on this phone can be recorded on it; the number "
            "left counts all of them."
        ),
    ),
    (
        _("A second measurement"),
        _(
            "Whoever measures drawn trees again opens the draw and then “Measure on a phone”. The page has the drawn trees alone and "
            "nothing that anybody recorded of them before. It works without a signal like the page of a round."
        ),
    ),
    (
        _("English or French"),
        _(
            "Tap the other language at the head of the first screen; this works without a signal too. The codes are the same in both, "
            "and what people typed, such as a note, stays as they wrote it. A caution, a way in, a start corner or a "
            "measurement of the programme without words in your language is shown in English and says so. Signed-in crews and landowners "
            "also get their mails in it."
        ),
    ),
    (
        _("Not sent"),
        _(
            "The number at the head is what is on this phone only. The page sends when it is opened, when the signal comes back and when "
            "you tap Send. A record leaves the phone only after the server named it as stored."
        ),
    ),
    (
        _("Wrong tap"),
        _("Undo takes back what has not been sent. A record that was sent is corrected by a new one; open the tree and tap again."),
    ),
    (
        _("Scan a tag"),
        _(
            "Where the browser can read codes, “Scan a tag” opens the tree whose tag is held in front of the camera. The camera goes off "
            "as soon as the screen changes. Anywhere else, and for a tag that cannot be read, “Find a tree” takes the end of the tag."
        ),
    ),
    (
        _("Photos"),
        lazy(_photo_words, str)(),
    ),
    (
        _("Refused"),
        _(
            "A record that the server cannot take stays on the phone with the reason. Correct the tree, or save a file and send it to the "
            "coordinator, who loads it as a census sheet. Where the office corrected the record meanwhile, the file stores yours beside it "
            "for the office to compare. Then tap “Send them again”: the record leaves the list."
        ),
    ),
    (
        _("One phone, several people"),
        _("Records are sent only for the person who made them. Those of somebody else wait until that person signs in on the phone."),
    ),
    (
        _("A wrong clock"),
        _("The day of a record is worked out from the clock of the server. Where the phone showed another day, the note says so."),
    ),
    (
        _("A link for a round"),
        _(
            "The coordinator makes it on the page of the round or prints it on the field form. It needs no account, works for one round "
            "until its last day, and can be revoked. Its records are entered in the name of whoever made it; the name typed on the phone "
            "is the observer."
        ),
    ),
    (
        _("A link that has ended"),
        _(
            "The first screen says until when a link works. Once it has ended, or was revoked, the page says so, and offers what is not "
            "sent as files and the telephone of the programme. Nothing is deleted, and the trees can be finished: records stay on the "
            "phone. The coordinator loads the file as a census sheet; what was received before is not recorded twice."
        ),
    ),
    (
        _("Another link to the same round"),
        _(
            "Open it on the same phone and write the same name; capitals and blanks do not count. The page offers to take over what you "
            "recorded by the earlier link: what is not sent goes by this one, with its own time, and what was sent can be corrected here. "
            "Records under another name stay where they are: the page says how many and of whom, and the page of the earlier link saves "
            "them to a file."
        ),
    ),
    (
        _("Without a secure address"),
        _(
            "Phones store the page only from an address that begins with https. From any other the page works while there is a signal, and "
            "says so."
        ),
    ),
)
