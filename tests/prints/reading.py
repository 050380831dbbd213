"""Reads prints back with other libraries than the one that drew them: pypdf for text, PDFium for pictures, zxing-cpp for codes."""

import io

import pypdf
import pypdfium2
import zxingcpp

POINTS_PER_MM = 72 / 25.4


def page_texts(content, only=None):
    """The text of each page, or only of those with these numbers from 0."""
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return [pages[number].extract_text() for number in (range(len(pages)) if only is None else only)]


def page_words(content):
    """The text of each page by PDFium, many times as fast; its spaces and line ends differ."""
    document = pypdfium2.PdfDocument(content)
    try:
        return [document[number].get_textpage().get_text_range() for number in range(len(document))]
    finally:
        document.close()


def page_count(content):
    return len(pypdf.PdfReader(io.BytesIO(content)).pages)


def pictures(content, dpi=200, only=None):
    """Each page as a grey picture, or only those with these numbers from 0."""
    document = pypdfium2.PdfDocument(content)
    try:
        return [
            document[number].render(scale=dpi / 72, grayscale=True).to_pil() for number in (range(len(document)) if only is None else only)
        ]
    finally:
        document.close()


def codes(picture):
    """Texts of the QR codes in a picture."""
    return [found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)]


def cut(picture, box, dpi=200):
    """The part of a picture inside a box in mm from its upper left corner."""
    scale = dpi / 25.4
    return picture.crop(tuple(round(side * scale) for side in (box.left, box.top, box.right, box.bottom)))


def overprints(content):
    """Pairs of letters of a page that cover more than a quarter of one another: none where no text runs into another."""
    document = pypdfium2.PdfDocument(content)
    found = []
    try:
        for number in range(len(document)):
            page = document[number].get_textpage()
            text = page.get_text_range()
            boxes = [(sign, page.get_charbox(place)) for place, sign in enumerate(text[: page.count_chars()]) if not sign.isspace()]
            found += [(number, one[0], other[0]) for one, other in _neighbours(boxes) if _covered(one[1], other[1]) > 0.25]
    finally:
        document.close()
    return found


def _neighbours(boxes):
    """Pairs of boxes that could touch, by a sweep from left to right."""
    boxes = sorted(boxes, key=lambda box: box[1][0])
    for place, one in enumerate(boxes):
        for other in boxes[place + 1 :]:
            if other[1][0] >= one[1][2]:
                break
            yield one, other


def _covered(one, other):
    width = min(one[2], other[2]) - max(one[0], other[0])
    height = min(one[3], other[3]) - max(one[1], other[1])
    smaller = min((box[2] - box[0]) * (box[3] - box[1]) for box in (one, other))
    return width * height / smaller if width > 0 and height > 0 and smaller > 0 else 0
