"""Fixtures that several tests use."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session")
def office() -> Iterator[object]:
    """A running headless Calc with the add-in; a missing one is a failure, not a skip."""
    from hoppersheet.hosts.calc.office import Office

    with Office(timeout=120) as office:
        yield office
