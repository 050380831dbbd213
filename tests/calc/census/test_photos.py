"""A picture as a phone sends it. The files are made here with Pillow, which writes EXIF, comments and profiles after ITU-T T.81."""

import io
import struct

import pytest
from PIL import Image

from plantings.calc.census.photos import PHOTO_BYTES_MOST, phone_jpeg, read_photo
from plantings.calc.phone.reading import UnreadableRecord

UUID = "00000000-0000-4000-8000-00000000000a"
SAID = {"uuid": UUID, "record": UUID, "at": "1", "clock": "2"}


def jpeg(size=(80, 60), colour=(20, 90, 40), **given):
    made = io.BytesIO()
    Image.new("RGB", size, colour).save(made, "JPEG", **given)
    return made.getvalue()


def test_a_picture_loses_place_camera_comment_and_profile():
    exif = Image.Exif()
    exif[0x010F], exif[0x8825] = "Camera of mine", {1: "N", 2: (45.0, 5.0, 0.0)}
    told = {"exif": exif, "comment": b"At the Mill Brook gate", "icc_profile": b"profile of mine", "xmp": b"<x>Mill</x>"}
    content = jpeg(**told)
    assert b"Camera of mine" in content and b"Mill Brook" in content and b"profile of mine" in content
    plain, width, height = phone_jpeg(content)
    made = Image.open(io.BytesIO(plain))
    assert (made.format, made.size, width, height) == ("JPEG", (80, 60), 80, 60)
    assert b"mine" not in plain and b"Mill" not in plain and not made.getexif()
    assert set(made.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_larger_picture_is_scaled_to_its_longest_side():
    assert phone_jpeg(jpeg((2000, 1000)))[1:] == (1600, 800)


def with_size(content, width, height):
    """The same file with other numbers in its head: SOF0 holds height and width after its length and its precision."""
    at = content.index(b"\xff\xc0") + 5
    return content[:at] + struct.pack(">HH", height, width) + content[at + 4 :]


@pytest.mark.parametrize("size", [(2001, 2000), (65000, 65000)])
def test_a_bomb_of_pixels_is_refused_before_it_is_decoded(size, monkeypatch):
    content = with_size(jpeg(), *size)
    monkeypatch.setattr(Image.Image, "convert", lambda *given: pytest.fail("it was decoded"))
    with pytest.raises(UnreadableRecord):
        phone_jpeg(content)


def _png():
    made = io.BytesIO()
    Image.new("RGB", (8, 8)).save(made, "PNG")
    return made.getvalue()


@pytest.mark.parametrize("content", [b"", b"\xff\xd8\xff", b"<svg/>", _png(), jpeg()[:300], b"x" * (PHOTO_BYTES_MOST + 1)])
def test_what_is_no_whole_jpeg_is_refused_in_words(content):
    with pytest.raises(UnreadableRecord, match="Take it again"):
        phone_jpeg(content)


@pytest.mark.parametrize("changed", [{"uuid": "1"}, {"record": ""}, {"at": "1e3"}, {"clock": "²"}, {"at": "9" * 30}])
def test_what_is_said_of_a_photo_is_read_without_trust(changed):
    assert read_photo(SAID | {"loaded": "-5"}).loaded_ms == -5
    with pytest.raises(UnreadableRecord):
        read_photo(SAID | changed)
