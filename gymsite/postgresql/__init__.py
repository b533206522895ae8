"""PostgreSQL as Django knows it, with a pool that gets over a restart of the server."""
