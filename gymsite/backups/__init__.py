"""Backups of the whole database, and the way back.

A backup is a folder of two files: ``data.sqlite3`` or ``data.dump``, and ``manifest.json``,
which says when and by which program it was made, what it holds and by which SHA-256 the data
are known. It gets its name when it is whole; whatever has no such name is no backup. There
are no uploaded files on a site's disk: all it keeps is in the database, and what is under
``var/static`` comes from the program. Settings (``.env``) are not in it.

``sqlite`` and ``postgresql`` know how each kind is copied and put back; ``making`` and
``restoring`` do what both have in common. What rows mean is none of their business: see
``scoring/services/after_restore.py``.
"""

from .making import Made, make_backup, remove_old
from .manifest import Manifest, find_backup
from .problems import BackupError
from .restoring import check_backup, holds_data, put_back

__all__ = [
    "BackupError",
    "Made",
    "Manifest",
    "check_backup",
    "find_backup",
    "holds_data",
    "make_backup",
    "put_back",
    "remove_old",
]
