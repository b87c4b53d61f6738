import pytest

from feedwright.compiler.model.plan import Plan

from .plans import make_plan


@pytest.fixture
def person_plan() -> Plan:
    return make_plan(machine=False)


@pytest.fixture
def machine_plan() -> Plan:
    return make_plan(machine=True)
