"""The page that shows every part once, drawn by the templates of the site from invented data."""

from pathlib import Path

from django.template import engines

from tests.style_guide.samples import samples


def guide():
    """The HTML of the style guide."""
    source = (Path(__file__).resolve().parent / "guide.html").read_text(encoding="utf-8")
    return engines["django"].from_string(source).render({"samples": samples()})
