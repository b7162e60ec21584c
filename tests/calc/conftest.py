"""One office for all tests of this folder; each test that harms its office takes its own."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from hoppersheet.hosts.calc.office import Office


@pytest.fixture(scope="session")
def office() -> Iterator[Office]:
    with Office(timeout=60) as running:
        yield running
