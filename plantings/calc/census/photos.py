"""A photo as a phone sends it: read without trust, and made again, so that nothing is stored but the picture.

The phone has scaled it already and left out where and with what it was taken. Whoever sends may be anybody: so the type is looked for in
the content, the number of pixels is read from its head before anything is decoded, and what is stored is encoded by us from the pixels.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from plantings.calc.phone.reading import UnreadableRecord, sent_uuid
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.pictures import PictureFault, TooManyPixels, plain_jpeg

__all__ = ["PHOTOS_A_RECORD", "PHOTO_BYTES_MOST", "PHOTO_SIDE_MOST", "SentPhoto", "phone_jpeg", "read_photo"]

PHOTOS_A_RECORD = 3  # the tree, what is odd about it, its tag; our own limit, no source
PHOTO_SIDE_MOST = 1_600  # pixels; the phone scales to it, and so does the server
PHOTO_BYTES_MOST = 2_000_000  # a picture of that side has 0.2 to 0.9 MB
_PIXELS_MOST = 4_000_000  # 1.5 times a square of the longest side
_DIGITS_MOST = 18


@dataclass(frozen=True, slots=True)
class SentPhoto:
    """What a phone says of a photo: its identifier and that of its record. `at_ms`, `clock_ms` and `loaded_ms` are when it was taken and
    sent by the clock of the phone, and when the phone fetched the round by that of the server, in milliseconds since 1970."""

    uuid: UUID
    record: UUID
    at_ms: int
    clock_ms: int
    loaded_ms: int | None


def read_photo(sent: Mapping[str, str]) -> SentPhoto:
    """Read what came beside the picture.

    Parameters
    ----------
    sent : mapping of str to str
        Texts of an address, of any shape.

    Raises
    ------
    UnreadableRecord
        When a part is missing or of another kind than it must be.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> read_photo({"uuid": "not one"})
    Traceback (most recent call last):
    plantings.calc.phone.reading.UnreadableRecord: This photo cannot be read. Load the page of the census again.
    """
    uuid, record = sent_uuid(sent.get("uuid")), sent_uuid(sent.get("record"))
    at_ms, clock_ms, loaded_ms = (_whole(sent.get(name, "")) for name in ("at", "clock", "loaded"))
    if uuid is None or record is None or at_ms is None or clock_ms is None:
        raise UnreadableRecord(gettext_noop("This photo cannot be read. Load the page of the census again."))
    return SentPhoto(uuid, record, at_ms, clock_ms, loaded_ms)


def _whole(text: str) -> int | None:
    digits = text.removeprefix("-")
    return int(text) if digits.isascii() and digits.isdigit() and len(digits) <= _DIGITS_MOST else None


def phone_jpeg(content: bytes) -> tuple[bytes, int, int]:
    """The picture of a JPEG and nothing else, its longest side `PHOTO_SIDE_MOST` at most.

    Parameters
    ----------
    content : bytes
        Anything.

    Returns
    -------
    (bytes, int, int)
        The JPEG, its width and its height in pixels.

    Raises
    ------
    UnreadableRecord
        For an empty, too large or broken file, another type, and more pixels than a phone sends.

    Source
    ------
    As of `plain_jpeg`. The limits are our own: no source.

    Examples
    --------
    >>> phone_jpeg(b"GIF89a")
    Traceback (most recent call last):
    plantings.calc.phone.reading.UnreadableRecord: The photo is damaged or not a JPEG. Take it again.
    """
    if len(content) > PHOTO_BYTES_MOST:
        raise UnreadableRecord(gettext_noop("The photo is too large. Take it again."))
    try:
        return plain_jpeg(content, types=["JPEG"], pixels_most=_PIXELS_MOST, side_most=PHOTO_SIDE_MOST)
    except TooManyPixels as error:
        words = gettext_noop("The photo has too many pixels. Take it again on this page, which scales it.")
        raise UnreadableRecord(words) from error
    except PictureFault as error:
        raise UnreadableRecord(gettext_noop("The photo is damaged or not a JPEG. Take it again.")) from error
