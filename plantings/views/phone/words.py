"""The words that the script of the phone census writes, translated: the page holds them as JSON. A pair is singular and plural."""

from django.utils.translation import gettext, ngettext

from registry.selectors.shared.local_words import local_month

__all__ = ["phone_words"]


def _both(words):
    return [words(number) for number in (1, 2)]


def phone_words():
    """{name: words, or [singular, plural]}; %(name)s is filled in by the script."""
    return {
        "left": _both(lambda n: ngettext("%(n)s tree left", "%(n)s trees left", n)),
        "unsent": _both(lambda n: ngettext("%(n)s not sent", "%(n)s not sent", n)),
        "unsentOf": _both(
            lambda n: ngettext(
                "%(n)s record of %(who)s is on this phone and not sent. It is sent when %(who)s signs in here.",
                "%(n)s records of %(who)s are on this phone and not sent. They are sent when %(who)s signs in here.",
                n,
            )
        ),
        "refusedCount": _both(lambda n: ngettext("%(n)s record was refused. See why", "%(n)s records were refused. See why", n)),
        "photosLeft": _both(lambda n: ngettext("+ %(n)s photo", "+ %(n)s photos", n)),
        "photosOf": _both(
            lambda n: ngettext(
                "%(n)s photo of %(who)s is on this phone and not sent. It is sent when %(who)s signs in here.",
                "%(n)s photos of %(who)s are on this phone and not sent. They are sent when %(who)s signs in here.",
                n,
            )
        ),
        "photosRefused": _both(lambda n: ngettext("%(n)s photo was refused. See why", "%(n)s photos were refused. See why", n)),
        "photosSent": _both(lambda n: ngettext("%(n)s photo sent", "%(n)s photos sent", n)),
        "photo": gettext("Photo"),
        "photoOf": gettext("Photo %(n)s of tree %(tag)s"),
        "photoDrop": gettext("Delete"),
        "photoDropOf": gettext("Delete photo %(n)s of tree %(tag)s"),
        "photoPlain": gettext("Made smaller, without the place and the camera. Sent after the record of this tree."),
        "photoGone": gettext("This photo may have been sent already, so it stays."),
        "photoMost": _both(
            lambda n: ngettext("Not stored: a tree has at most %(n)s photo.", "Not stored: a tree has at most %(n)s photos.", n)
        ),
        "photoUnread": gettext("This file is not a picture that the phone can read. Take the photo again."),
        "photoFull": gettext("The photo is not stored: the phone has no room left. The record of the tree is not affected."),
        "photoFiles": _both(
            lambda n: ngettext("Save %(n)s photo that is not sent as a file", "Save %(n)s photos that are not sent as files", n)
        ),
        "photoSave": gettext("Save photo %(n)s, tree %(tag)s"),
        "photoWaits": gettext("This tree has no record yet: the photo is sent after it."),
        "earlierTab": gettext(
            "Another tab of this browser still shows an earlier version of this page. Close it, and this page goes on. Nothing is lost."
        ),
        "broken": gettext("Something did not work on this page. Load it again: what you saved stays on this phone."),
        "laterTab": gettext("Another tab has loaded a newer version of this page. Load this one again before you record more."),
        "send": gettext("Send"),
        "safety": gettext("Safety"),
        "months": [local_month(month) for month in range(1, 13)],
        "labelled": gettext("%(label)s: %(words)s"),
        "sending": gettext("Sending …"),
        "sent": gettext("All sent."),
        "noSignal": gettext("No answer from the server. What you record stays on this phone and is sent later."),
        "signIn": gettext("Sign in"),
        "title": gettext("Census on the phone"),
        "titleOf": gettext("%(planting)s, %(round)s"),
        "secondOf": gettext("%(title)s, second measurement %(number)s"),
        "window": gettext("Window: %(window)s"),
        "linkUntil": gettext("This link takes records until the end of %(until)s. Send before."),
        "endedLeft": gettext("Save here what is not sent. What was received already is not recorded twice."),
        "endedAll": gettext("All that you recorded on this phone was received. Thank you."),
        "endedGoOn": gettext(
            "You can finish the trees: what you record now stays on this phone too. Save the file again when you are done."
        ),
        "ready": gettext("Ready. This page now works without a signal."),
        "needsTls": gettext(
            "This address is not secure, so the phone will not store the page: without a signal it cannot be opened again. Records are "
            "still stored on the phone until they are sent. Ask the coordinator for an address that begins with https."
        ),
        "noStore": gettext(
            "This browser stores nothing for this page, so nothing can be recorded here. Leave the private window, or use the printed form."
        ),
        "full": gettext("Not saved: the phone has no room left. Write this tree down on paper, free some space and tap again."),
        "loading": gettext("Fetching the round …"),
        "notLoaded": gettext("This round is not on this phone yet. Open this page once where there is a signal."),
        "who": gettext("Who looks"),
        "whoFirst": gettext("Write your name first. It goes with each record."),
        "start": gettext("Start at tree %(tag)s"),
        "goOn": gettext("Go on at tree %(tag)s"),
        "rounds": gettext("Rounds on this phone"),
        "noRounds": gettext("No round is on this phone. Open one from its page on Mastbook, or by a link or code that you were given."),
        "emergency": gettext("In an emergency"),
        "call": gettext("Call the programme: %(who)s, %(phone)s"),
        "way": gettext("How to get there"),
        "openMap": gettext("Open the place in a map"),
        "inEnglish": gettext("In English:"),
        "corner": gettext("Start corner: %(words)s"),
        "walk": gettext("Walk order: %(words)s"),
        "spacing": gettext("Spacing: %(words)s"),
        "cautions": gettext("Cautions"),
        "measured": gettext("How each thing is measured"),
        "codes": gettext("What each word means"),
        "place": gettext("block %(block)s, row %(row)s, position %(position)s"),
        "placeOfRow": gettext("row %(row)s, position %(position)s"),
        "block": gettext("block %(block)s"),
        "here": gettext("Plan: you are at %(place)s"),
        "planFirst": gettext("Ring: first tree, %(tag)s"),
        "planBlock": gettext("Block %(block)s, %(number)s of %(n)s"),
        "noPlace": gettext("no place recorded"),
        "note": gettext("Note"),
        "lastTime": gettext("%(label)s last time: %(value)s %(unit)s, %(day)s"),
        "notNumber": gettext("Write a number, such as 142.5, or leave the box blank."),
        "notWhole": gettext("Write a whole number."),
        "outside": gettext("Write a number from %(low)s to %(high)s %(unit)s."),
        "askCause": gettext("%(status)s: what was the cause?"),
        "askUnseen": gettext("%(status)s: then nothing was measured. Clear the readings?"),
        "clear": gettext("Clear them and save"),
        "askOdd": gettext("Look again"),
        "slip": gettext("%(label)s: %(value)s %(unit)s, last time %(last)s: as if %(units)s were mixed up."),
        "tenfold": gettext("%(label)s: %(value)s %(unit)s, last time %(last)s: ten times as much or as little. Is a digit wrong?"),
        "lessOwn": gettext("%(label)s: %(value)s %(unit)s, last time %(last)s. By its definition it only grows."),
        "less": gettext("%(label)s: %(value)s %(unit)s, last time %(last)s. Did it break, die back or get browsed?"),
        "more": gettext("%(label)s: %(value)s %(unit)s, last time %(last)s. That is much growth: is it the right tree and unit?"),
        "grown": gettext("%(label)s: %(value)s %(unit)s, last time %(last)s: it has grown, but is recorded dead. Look at the tag."),
        "revived": gettext("Last time this tree was recorded %(status)s. Say what happened: resprout, earlier error, other tree."),
        "say": gettext("Say in a word what happened (goes into the note)"),
        "saveAsIs": gettext("It is right: save"),
        "back": gettext("Back"),
        "undo": gettext("Undo"),
        "undone": gettext("Record of tree %(tag)s taken back."),
        "correcting": gettext("Tree %(tag)s was sent. What you save now corrects it."),
        "others": gettext("%(who)s recorded tree %(tag)s with this phone. What you save is a record beside theirs."),
        "rejected": gettext("The office did not accept the record of tree %(tag)s: %(words)s Look at the tree again."),
        "previous": gettext("Previous"),
        "next": gettext("Next"),
        "find": gettext("Find a tree"),
        "scan": gettext("Scan a tag"),
        "scanView": gettext("Picture of the camera"),
        "scanHold": gettext("Hold the code of a tag in front of the camera, or type the tag."),
        "scanUnknown": gettext("“%(code)s” is not the tag of a tree of this round. Hold another one, or type the tag."),
        "scanFailed": gettext("The camera cannot be used. Type the tag."),
        "findBox": gettext("Tag, or the end of it"),
        "findNone": gettext("No tree of this round has this tag."),
        "leftHere": gettext("Trees left, in walk order"),
        "andMore": _both(lambda n: ngettext("and %(n)s more", "and %(n)s more", n)),
        "done": gettext("Every tree of this round has a record."),
        "saved": gettext("Tree %(tag)s: %(status)s"),
        "recordedBefore": gettext("recorded before"),
        "refusedTitle": gettext("Refused by the server"),
        "refusedWhy": gettext(
            "What was refused stays on this phone. Correct a tree by opening it, or save all to files for the coordinator."
        ),
        "tryAgain": gettext("Send them again"),
        "saveFile": gettext("Save what is not sent to a file"),
        "fileNote": gettext("The file can be loaded as a census sheet. The records stay on this phone as well."),
        "newer": gettext("A newer version of this page is ready. Nothing you recorded is lost."),
        "loadNewer": gettext("Load it"),
        "otherPerson": gettext("%(now)s is signed in now. The page shows the round of %(now)s."),
        "toTrees": gettext("To the trees"),
        "openTree": gettext("Open tree %(tag)s: %(words)s"),
        "askedBack": gettext("The coordinator asks: %(words)s"),
        "answering": gettext("What you save now is the answer and takes the place of the earlier record. Enter all that you see."),
        "questions": _both(lambda n: ngettext("%(n)s record to look at again", "%(n)s records to look at again", n)),
        "questionElsewhere": gettext("This tree is in a part that is not on this phone. Fetch it to answer."),
        "typedBefore": gettext("You typed this before; it is not saved yet."),
        **_words_of_earlier_links(),
        **_words_of_cautions(),
        **_words_of_plots(),
        **_words_of_blocks(),
    }


def _words_of_earlier_links():
    return {
        "earlierOwn": _both(
            lambda n: ngettext(
                "%(n)s record of %(who)s by an earlier link of this round is on this phone and not sent.",
                "%(n)s records of %(who)s by an earlier link of this round are on this phone and not sent.",
                n,
            )
        ),
        "earlierPhotos": _both(
            lambda n: ngettext(
                "%(n)s photo of %(who)s by an earlier link of this round is on this phone and not sent.",
                "%(n)s photos of %(who)s by an earlier link of this round are on this phone and not sent.",
                n,
            )
        ),
        "earlierSent": _both(
            lambda n: ngettext(
                "%(n)s record of %(who)s was sent from this phone by an earlier link of this round. Take it over to correct it here.",
                "%(n)s records of %(who)s were sent from this phone by an earlier link of this round. Take them over to correct them here.",
                n,
            )
        ),
        "earlierSend": gettext("Take over and send by this link"),
        "earlierMove": gettext("Take over"),
        "earlierMoved": gettext("Taken over."),
        "earlierNot": gettext("Nothing was taken over: the phone has no room left. Free some space and try again."),
        "earlierOther": _both(
            lambda n: ngettext(
                "%(n)s record of %(who)s by an earlier link of this round is on this phone and not sent. %(who)s takes it over by writing "
                "this name; otherwise save it to a file on the page of that link.",
                "%(n)s records of %(who)s by an earlier link of this round are on this phone and not sent. %(who)s takes them over by "
                "writing this name; otherwise save them to a file on the page of that link.",
                n,
            )
        ),
        "earlierOtherPhotos": _both(
            lambda n: ngettext(
                "%(n)s photo of %(who)s by an earlier link of this round is on this phone and not sent. %(who)s takes it over by writing "
                "this name; otherwise save it as a file on the page of that link.",
                "%(n)s photos of %(who)s by an earlier link of this round are on this phone and not sent. %(who)s takes them over by "
                "writing this name; otherwise save them as files on the page of that link.",
                n,
            )
        ),
        "earlierOpen": gettext("Open the earlier link"),
        "endedAnother": gettext(
            "Or ask for another link to this round and open it on this phone: with the same name you take over there what is not sent."
        ),
    }


def _words_of_cautions():
    return {
        "cautionsFirst": gettext("Before you start: the cautions"),
        "cautionsChanged": gettext("The cautions have changed since you read them here. Read them again."),
        "stop": gettext(
            "No line here says that a place or a task is safe. You and your crew lead decide on the spot, and local rules come first. If "
            "something is unsafe: stop, leave, call."
        ),
        "cautionsRead": gettext("%(name)s: I have read them"),
        "cautionsLater": gettext("Not now, go on"),
        "cautionsShow": gettext("Show the cautions"),
        "cautionsReadBy": gettext("Read by %(name)s."),
    }


def _words_of_plots():
    return {
        "plot": gettext("Plot"),
        "plotsLeft": _both(lambda n: ngettext("%(n)s plot left", "%(n)s plots left", n)),
        "startPlot": gettext("Start at plot %(tag)s"),
        "goOnPlot": gettext("Go on at plot %(tag)s"),
        "plantedOf": gettext("%(n)s planted"),
        "plantedUnknown": gettext("number planted not known"),
        "aliveBox": gettext("Alive (count)"),
        "deadBox": gettext("Dead (count)"),
        "counted": gettext("%(alive)s alive, %(dead)s dead"),
        "countedBefore": gettext("counted before"),
        "noneIsZero": gettext("Write a number; 0 if none is alive."),
        "moreThanPlanted": gettext("alive and dead together are more than the %(n)s planted. Count again."),
        "lastCount": gettext("Last time, %(day)s: %(alive)s alive, %(dead)s dead"),
        "countLeap": gettext("%(alive)s alive, last time %(last)s: a large change. Is it the right plot? Count again."),
        "countRise": gettext("More alive than before: %(alive)s after %(last)s. Did seed come up late?"),
        "countMore": gettext("%(sum)s alive and dead, last time %(before)s: more than had come up."),
        "countMissing": gettext("%(alive)s alive and %(dead)s dead of %(planted)s planted: %(missing)s are missing. What became of them?"),
        "saveCount": gettext("Save the count"),
        "savedPlot": gettext("Plot %(tag)s: %(status)s"),
        "donePlots": gettext("Every plot of this round has a count."),
        "correctingPlot": gettext("The count of plot %(tag)s was sent. What you save now corrects it."),
        "othersPlot": gettext("%(who)s counted plot %(tag)s with this phone. What you save is a count beside theirs."),
        "rejectedPlot": gettext("The office did not accept the count of plot %(tag)s: %(words)s Count it again."),
        "undonePlot": gettext("Count of plot %(tag)s taken back."),
        "findPlot": gettext("Find a plot"),
        "openPlot": gettext("Open plot %(tag)s: %(words)s"),
        "saveCounts": gettext("Save the counts that are not sent to a file"),
    }


def _words_of_blocks():
    return {
        "blocks": gettext("Blocks on this phone"),
        "blocksHere": _both(
            lambda n: ngettext(
                "%(here)s of %(n)s is here. Fetch what you walk today while there is a signal.",
                "%(here)s of %(n)s are here. Fetch what you walk today while there is a signal.",
                n,
            )
        ),
        "fetchFirst": gettext(
            "No tree of this planting is on this phone yet. Fetch the parts that you walk today before you go, while there is a signal."
        ),
        "fetchBlocks": gettext("Fetch all that are missing"),
        "blockTrees": _both(lambda n: ngettext("%(block)s: %(n)s tree", "%(block)s: %(n)s trees", n)),
        "blockHere": gettext("on this phone"),
        "fetchBlock": gettext("Fetch"),
        "fetchBlockOf": gettext("Fetch %(block)s"),
        "fetchingBlock": gettext("Fetching %(block)s, %(number)s of %(n)s …"),
        "fullBlock": gettext("Not fetched: the phone has no room left. Free some space and fetch it again."),
        "noBlock": gettext("trees without a block"),
        "blockOf": gettext("block %(block)s"),
        "blocksOf": gettext("blocks %(first)s to %(last)s"),
        "pieceOf": gettext("%(block)s, part %(piece)s"),
        "doneHere": gettext("Every tree of the blocks on this phone has a record. The first screen says which blocks are missing."),
        "findElsewhere": gettext("No tree of the blocks on this phone has this tag. Other blocks are not on it: see the first screen."),
    }
