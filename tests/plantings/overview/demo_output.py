"""What `manage.py demo` prints, read back."""

import io
import re

from django.core.management import call_command


def printed(*arguments):
    out = io.StringIO()
    call_command("demo", *arguments, stdout=out)
    return out.getvalue()


def phrases(text):
    """{sign-in name: password} of the printed table."""
    return dict(re.findall(r"^\S.*?  +(\S+\.\S+)  +(\w+ \w+ \w+ \w+)$", text, re.MULTILINE))
