"""Pictures that people send: drawn anew as JPEG, so that nothing of the file they came in is left but what is seen."""

import io
import warnings

__all__ = ["PictureFault", "plain_jpeg"]

SIDE_MAX = 2400  # pixels: a letter page has 220 to the inch, enough to read handwriting
PIXELS_MAX = 80_000_000  # of the file that came in; more than any phone's camera makes
_QUALITY = 82
_FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")


class PictureFault(ValueError):
    """A file that is not a picture Mastbook takes; the message says why."""


def plain_jpeg(content: bytes, side_max: int = SIDE_MAX) -> bytes:
    """A picture as a JPEG of at most `side_max` pixels a side, upright and without the place, the day or anything else its file told.

    Raises
    ------
    PictureFault
        For a file that cannot be read as a picture, or one with more than `PIXELS_MAX` pixels.
    """
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
                if picture.width * picture.height > PIXELS_MAX:
                    raise PictureFault("has too many pixels. Take the photo at a lower resolution")
                picture.draft("RGB", (side_max, side_max))  # a large JPEG is read at a fraction of its size
                upright = ImageOps.exif_transpose(picture).convert("RGB")
    except PictureFault:
        raise
    except Exception as error:  # Pillow's decoders raise many types for a damaged file
        raise PictureFault("cannot be read as a picture. Save it as JPG or PNG") from error
    upright.thumbnail((side_max, side_max))
    target = io.BytesIO()
    upright.save(target, "JPEG", quality=_QUALITY, optimize=True)
    return target.getvalue()
