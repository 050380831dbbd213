"""Static files as Mastbook serves them: few style sheets, compressed, under names that change with their content."""

import posixpath
import re

from django.core.files.base import ContentFile
from whitenoise.storage import CompressedManifestStaticFilesStorage

_IMPORT = re.compile(r'@import url\("([^"]+)"\);')


class JoinedStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """Hashed names and compression by whitenoise; a style sheet that imports others is collected as one file.

    Before anything is collected, as in tests, files keep their plain names and the browser follows the imports itself.
    """

    def post_process(self, paths, dry_run=False, **options):
        if not dry_run:
            paths = {name: self._joined(name, *place) for name, place in paths.items()}
        yield from super().post_process(paths, dry_run=dry_run, **options)

    def _joined(self, name, source, path):
        """Where to read a file from: our own copy with its imports in it, or its source."""
        if not name.endswith(".css"):
            return source, path
        text = _text(source, path)
        joined = _IMPORT.sub(lambda found: _text(source, posixpath.join(posixpath.dirname(path), found[1])), text)
        if joined == text:
            return source, path
        self.delete(name)
        self._save(name, ContentFile(joined.encode()))
        return self, name

    def stored_name(self, name):
        # A file that was not collected yet is still served, by its plain name and for a shorter time.
        try:
            return super().stored_name(name)
        except ValueError:
            return name


def _text(source, path):
    with source.open(path) as file:
        return file.read().decode()
