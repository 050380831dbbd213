"""A folder of `book_export` as one file to download."""

import zipfile
from pathlib import Path

from registry.services.shared.progress import counted

__all__ = ["book_zip"]

FOLDER = "mastbook-records"
_DATE = (1980, 1, 1, 0, 0, 0)  # as the folder, the ZIP has nothing of the day it was made


def book_zip(target, folder):
    """Write the files of a folder into a ZIP, piece by piece.

    Parameters
    ----------
    target : binary file
    folder : Path
    """
    files = sorted(path for path in Path(folder).rglob("*") if path.is_file())
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as bundle:
        for path in counted(files, "Packing the files", "files", every=1):
            name = zipfile.ZipInfo(f"{FOLDER}/{path.relative_to(folder).as_posix()}", _DATE)
            name.compress_type, name.file_size, name.external_attr = zipfile.ZIP_DEFLATED, path.stat().st_size, 0o600 << 16
            with path.open("rb") as source, bundle.open(name, "w") as packed:
                while piece := source.read(1 << 20):
                    packed.write(piece)
