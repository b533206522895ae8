"""A database of a release, with its data."""

from django.core.management import call_command

from gymsite.releases import releases

from . import at, data


def make(name: str, *, is_rolling: bool = False) -> None:
    """Fill the empty database in use.

    If ``is_rolling`` the tables are today's and the rows come in by the models of then, as
    they do from servers that still run the release while the database has been upgraded.
    """
    release = next(each for each in releases() if each.name == name)
    if is_rolling:
        call_command("migrate", verbosity=0)
    else:
        at.migrate(release)
    call_command("createcachetable", verbosity=0)
    data.load(name, at.state(release).apps, has_triggers=is_rolling)
