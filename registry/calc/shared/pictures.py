"""Draws a picture that somebody sent again, so that the new file holds what can be seen and nothing else."""

import io
import warnings
from collections.abc import Sequence

__all__ = ["PictureFault", "TooManyPixels", "plain_jpeg"]

_QUALITY = 82
# what Pillow raises for a hostile file; it also warns, which is an error here
_BROKEN = (OSError, SyntaxError, ValueError, TypeError, OverflowError, IndexError, KeyError, RuntimeError, Warning)


class PictureFault(ValueError):
    """Not a picture of a type that is taken, or a damaged one."""


class TooManyPixels(PictureFault):
    """A picture with more pixels than are decoded."""


def plain_jpeg(content: bytes, *, types: Sequence[str], pixels_most: int, side_most: int) -> tuple[bytes, int, int]:
    """The picture of a file as a JPEG, upright, and nothing else: no place, day, camera, comment or colour profile.

    Parameters
    ----------
    content : bytes
        Anything.
    types : sequence of str
        The types that are taken, as Pillow names them: "JPEG", "PNG" …; looked for in the content.
    pixels_most : int
        More are refused by the head of the file, before anything is decoded.
    side_most : int
        Pixels; a picture with a longer side is scaled to it.

    Returns
    -------
    (bytes, int, int)
        The JPEG, its width and its height in pixels.

    Raises
    ------
    PictureFault
        For an empty or broken file and another type; `TooManyPixels` for more than `pixels_most`.

    Source
    ------
    ITU-T T.81 for the JPEG, which Pillow writes; the tag of orientation of Exif 2.3 (both from memory).

    Examples
    --------
    >>> plain_jpeg(b"GIF89a", types=["JPEG"], pixels_most=100, side_most=10)
    Traceback (most recent call last):
    registry.calc.shared.pictures.PictureFault: This cannot be read as a picture.
    """
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(content), formats=types)  # its head alone
            if picture.width * picture.height > pixels_most:
                raise TooManyPixels("This picture has too many pixels.")
            picture.draft("RGB", (side_most, side_most))  # a large JPEG is read at a fraction of its size
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except PictureFault:
        raise
    except (*_BROKEN, Image.DecompressionBombError) as error:
        raise PictureFault("This cannot be read as a picture.") from error
    upright.thumbnail((side_most, side_most))
    plain = Image.new("RGB", upright.size)  # a new one has no comment, profile or position that an encoder would repeat
    plain.paste(upright)
    made = io.BytesIO()
    plain.save(made, "JPEG", quality=_QUALITY)
    return made.getvalue(), plain.width, plain.height
