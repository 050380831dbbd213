"""A canvas to draw a print on. The same content gives the same bytes, so its SHA-256 names the content."""

from registry.calc.shared.iso import compact_day
from registry.prints.faces import FACES, face, printable
from registry.prints.qr import POINTS_PER_MM


def new_canvas(target, page_mm, title, made_on):
    """A reportlab canvas with the faces registered; the day it was made is the one given, never the clock's."""
    from reportlab.pdfgen.canvas import Canvas

    for name in FACES:
        face(name)
    size = (page_mm[0] * POINTS_PER_MM, page_mm[1] * POINTS_PER_MM)
    canvas = Canvas(target, pagesize=size, pageCompression=1, invariant=1, initialFontName=FACES[0], lang="en")
    canvas.setDateFormatter(lambda *_moment: f"D:{compact_day(made_on)}000000Z")
    canvas.setTitle(printable(title))
    canvas.setCreator("Mastbook")
    canvas.setProducer("Mastbook")
    return canvas
