"""Writes the style guide as one file to look at in a browser: python -m tests.style_guide guide.html"""

import os
import sys
from pathlib import Path


def main(words):
    if len(words) != 1:
        sys.exit("Name the file to write: python -m tests.style_guide guide.html")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "registry.settings")
    import django

    django.setup()
    from tests.browser.axe import self_contained
    from tests.style_guide.guide import guide

    Path(words[0]).write_text(self_contained(guide()), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
