"""Empty records for every test, in a file and on a server.

The server's half needs ``TRAINER_TEST_POSTGRESQL``, the address of a running PostgreSQL server on
which schemas may be made: ``.ci/run`` starts one. Without it that half is skipped.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from helpers.records import NOW, PIN
from sqlalchemy import create_engine, make_url, text
from sqlalchemy.pool import NullPool

from trainer.models.records import Learner
from trainer.services.records.store import Records, open_records

SERVER = "TRAINER_TEST_POSTGRESQL"


@pytest.fixture(autouse=True)
def _quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The library's real settings take a tenth of a second for every PIN."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr("trainer.services.records.pins._hasher", lambda: quick)


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Where records can be made: a folder, then a schema of a server."""
    if request.param == "file":
        yield str(tmp_path / "records")
        return
    address = os.environ.get(SERVER)
    if not address:
        pytest.skip(f"no PostgreSQL server: {SERVER} is not set")
    schema = f"test_{uuid.uuid4().hex}"
    engine = create_engine(address, poolclass=NullPool)
    with engine.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    url = make_url(address).update_query_dict({"options": f"-csearch_path={schema}"})
    try:
        yield url.render_as_string(hide_password=False)
    finally:
        with engine.begin() as connection:
            connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))


@pytest.fixture
def records(place: str) -> Records:
    """Empty records on either."""
    return open_records(place)


@pytest.fixture
def file_records(tmp_path: Path) -> Records:
    """Empty records in a file."""
    return open_records(tmp_path / "records")


@pytest.fixture
def learner(records: Records) -> Learner:
    """A learner with a PIN in group "spring"."""
    return records.learners.add("Heron 12", now=NOW, group="spring", pin=PIN)


@pytest.fixture
def instructor(records: Records) -> Learner:
    """The instructor of that group."""
    return records.learners.add("Mrs Hazel", now=NOW, group="spring", is_instructor=True)
