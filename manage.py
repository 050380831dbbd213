#!/usr/bin/env python3
"""`start` sets Mastbook up and serves it, `prove` runs every test, `lock` chooses the versions they install.

Any other word is a command of Django's or ours.
"""

import os
import sys

from registry import bootstrap


def main():
    words = sys.argv[1:]
    if words[:1] == ["start"]:
        bootstrap.start(words[1:])
    elif words[:1] == ["prove"]:
        bootstrap.prove(words[1:])
    elif words[:1] == ["lock"]:
        bootstrap.lock(words[1:])
    else:
        bootstrap.use_environment()
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "registry.settings")
        from django.core.management import execute_from_command_line

        try:
            execute_from_command_line(sys.argv)
        except Exception as error:
            from registry.disk.faults import outside_fault_words

            if words := outside_fault_words(error):
                sys.exit(words)
            raise


if __name__ == "__main__":
    main()
