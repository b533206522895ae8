"""Backups on the kind of database in use, by whole processes on databases of their own."""
