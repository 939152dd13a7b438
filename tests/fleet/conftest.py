import os
from collections.abc import Callable, Iterator
from itertools import count

import pytest

from tests.fleet.server import Server, programs

_NUMBERS = count(1)


@pytest.fixture(scope="session")
def new_server() -> Iterator[Callable[[], Server]]:
    where = programs()
    if where is None:
        why = "there is no PostgreSQL server on this machine: apt-get install postgresql"
        if os.environ.get("CI"):
            pytest.fail(why)
        pytest.skip(why)
    servers: list[Server] = []

    def make() -> Server:
        servers.append(Server(where))
        return servers[-1]

    yield make
    for server in servers:
        server.take_away()


@pytest.fixture(scope="session")
def server(new_server: Callable[[], Server]) -> Server:
    """One server for all tests that do not stop it."""
    return new_server()


@pytest.fixture
def database(server: Server) -> str:
    """An empty database of one's own."""
    name = f"fleet{next(_NUMBERS)}"
    server.make_database(name)
    return name


@pytest.fixture
def url(server: Server, database: str) -> str:
    return server.url(database)
