"""The database backend; Django loads ``DatabaseWrapper`` from here by the engine's name."""

from __future__ import annotations

from typing import Any

from django.db.backends.postgresql import base
from psycopg import Error
from psycopg_pool import ConnectionPool


class DatabaseWrapper(base.DatabaseWrapper):
    """Gives out no dead connection.

    A server that restarted has closed all that lie in the pool. The pool's own check finds
    them one by one with pauses that double, so that three of them make a request fail; here
    the first one that is found dead has all of them thrown out.
    """

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        connection = super().get_new_connection(conn_params)
        if self.pool is None or _answers(connection):
            return connection
        self.pool.putconn(connection)
        self.pool.drain()
        return super().get_new_connection(conn_params)


def _answers(connection: Any) -> bool:
    try:
        ConnectionPool.check_connection(connection)
    except Error:
        return False
    return True
