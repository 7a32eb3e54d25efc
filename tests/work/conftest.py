"""A database for workers of a fleet."""

from collections.abc import Callable

import pytest
from sqlalchemy import create_engine, text


@pytest.fixture
def fleet_database(emptied_database: Callable[[], str]) -> str:
    """The address of an empty store on PostgreSQL that no machine has worked with."""
    address = emptied_database()
    ask = create_engine(address.replace("://", "+psycopg://"), isolation_level="AUTOCOMMIT")
    with ask.connect() as connection:
        found = "SELECT nspname FROM pg_namespace WHERE nspname LIKE 'narrate_fleet_%'"
        for schema in connection.scalars(text(found)).all():
            connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))
    ask.dispose()
    return address
