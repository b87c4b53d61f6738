"""Runs the tests that are coroutines, those of one file in one event loop, where their client of the server lives.

The pytest plugins of pytest-lsp and pytest-asyncio could do it too. They are not loaded, because each process of a run
would then load all types of the protocol, and each test of any file would ask them.
"""

import asyncio
import inspect
from collections.abc import Iterator

import pytest


@pytest.fixture(scope="module")
def event_loop() -> Iterator[asyncio.Runner]:
    with asyncio.Runner() as runner:
        yield runner


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if isinstance(item, pytest.Function) and inspect.iscoroutinefunction(item.obj):
            item.fixturenames.insert(0, "event_loop")


@pytest.hookimpl(tryfirst=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> bool | None:
    if not inspect.iscoroutinefunction(pyfuncitem.obj):
        return None
    asked = inspect.signature(pyfuncitem.obj).parameters
    runner: asyncio.Runner = pyfuncitem.funcargs["event_loop"]
    runner.run(pyfuncitem.obj(**{name: pyfuncitem.funcargs[name] for name in asked}))
    return True
