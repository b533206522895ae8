"""What goes wrong with backups, in words for whoever runs the command."""


class BackupError(Exception):
    """Says what is wrong and what would be right; nothing was changed unless it says so."""
