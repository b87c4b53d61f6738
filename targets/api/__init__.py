"""Feedwright for programs: compile a script, verify a plan, fly a launch. API.md describes each with examples.

This folder is installed as the package `feedwright` itself. Each public name is loaded at its first use, so importing
the package costs next to nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if __name__ != "feedwright":
    raise ImportError("this folder is installed as the package feedwright: import feedwright")

if TYPE_CHECKING:
    from .compiler.model.feeder import Feeder
    from .compiler.model.plan import Plan
    from .compiler.physics.air import Air, density
    from .compiler.physics.ball import BALLS, Ball
    from .compiler.physics.bounce import SURFACES, Surface, surface_of_pace
    from .compiler.physics.moments import Moment
    from .compiler.physics.outcome import Outcome
    from .flights import fly
    from .grammar.finding import Finding
    from .scripts import Result, compile, verify

__version__ = "0.1.0"

_FROM = {
    "compile": "scripts",
    "verify": "scripts",
    "Result": "scripts",
    "fly": "flights",
    "Finding": "grammar.finding",
    "Plan": "compiler.model.plan",
    "Feeder": "compiler.model.feeder",
    "Outcome": "compiler.physics.outcome",
    "Moment": "compiler.physics.moments",
    "Air": "compiler.physics.air",
    "density": "compiler.physics.air",
    "Ball": "compiler.physics.ball",
    "BALLS": "compiler.physics.ball",
    "Surface": "compiler.physics.bounce",
    "SURFACES": "compiler.physics.bounce",
    "surface_of_pace": "compiler.physics.bounce",
}
"""The module of each public name."""

__all__ = [
    "BALLS", "SURFACES", "Air", "Ball", "Feeder", "Finding", "Moment", "Outcome", "Plan", "Result", "Surface",
    "compile", "density", "fly", "surface_of_pace", "verify",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name not in _FROM:
        raise AttributeError(f"module 'feedwright' has no attribute {name!r}")
    value = globals()[name] = getattr(import_module(f".{_FROM[name]}", __name__), name)
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
