"""Uploaded files on disk: complete or absent, on the disk before the record that names them is stored."""

from django.core.files.storage import FileSystemStorage

from registry.disk.whole_files import write_whole


class WholeFileStorage(FileSystemStorage):
    """Names hold a hash or a random number, so two writers of one name write the same content."""

    def _save(self, name, content):
        write_whole(self.path(name), content.chunks(), mode=self.file_permissions_mode or 0o644)
        return name

    def replace(self, name, content):
        """Store a file under exactly this name, in place of a damaged one."""
        self._save(name, content)
