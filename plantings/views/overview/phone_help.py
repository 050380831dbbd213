"""What Help says about the census on a phone."""

from django.utils.translation import gettext_lazy as _

__all__ = ["PHONE_HELP"]

PHONE_HELP = (
    (
        _("Before you go"),
        _(
            "Open the round and then “Record on a phone” once where there is a signal, and wait for “Ready”. From then on the page opens "
            "and works without one. Add it to the home screen: browsers delete what a page stores when nobody opens it for some weeks."
        ),
    ),
    (
        _("At the tree"),
        _(
            "Type the readings, then tap the word. The word saves the tree and opens the next in walk order. The last reading shows only "
            "after you typed the new one. Where a reading looks odd the page asks; what you saw is saved as you saw it."
        ),
    ),
    (
        _("English or French"),
        _(
            "Tap the other language at the head of the first screen; this works without a signal too. The codes are the same in both, "
            "and what people typed, such as a note or a caution, stays as they wrote it. Signed-in crews and landowners also get their "
            "mails in it."
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
        _("Refused"),
        _(
            "A record that the server cannot take stays on the phone with the reason. Correct the tree, or save a file and send it to the "
            "coordinator, who loads it as a census sheet."
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
        _("Without a secure address"),
        _(
            "Phones store the page only from an address that begins with https. From any other the page works while there is a signal, and "
            "says so."
        ),
    ),
)
