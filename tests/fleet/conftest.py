import os
from collections.abc import Callable, Iterator
from itertools import count

import pytest

from tests.cli.conftest import home, voiceflow  # noqa: F401 - the command line, as shells run it
from tests.fleet.server import Server, programs
from tests.journal.conftest import path  # noqa: F401
from tests.journal.test_migration import old  # noqa: F401
from voiceflow.fleet.store import Store

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


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    with Store.open(url, make=True) as opened:
        yield opened
