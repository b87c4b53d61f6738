"""`log`: hits and misses."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.scripts import Refusal, read_script
from . import Commands
from .waiting import Waiting

if TYPE_CHECKING:
    from ...compiler.model.plan import Plan


def add(commands: Commands) -> None:
    from ..log.arguments import add_to

    parser = add_to(commands)
    parser.examples = (  # type: ignore[attr-defined]
        ("feedwright log add mine.plan.json", "type in a practice from its sheet"),
        ("feedwright log show", "shares of hits, longest streaks, rungs"),
        ("feedwright log advice", "which variation needs more time"),
        ("feedwright log plan mine.feed -o next.feed", "the next session, with more time for weak variations"),
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from ..log import LogRefused
    from ..log.command import run as run_log

    try:
        return run_log(options, _Scripts())
    except LogRefused as refused:
        raise Refusal(str(refused)) from refused


class _Scripts:
    """Reads and compiles scripts for the log; only this module knows both."""

    def read(self, name: str) -> str:
        return read_script(name).text

    def plan(self, name: str, text: str) -> "tuple[Plan | None, str]":
        from ...compiler.pipeline import compile_source
        from ...compiler.report.render import short
        from ...grammar.source import Source
        from ...programs import ScriptShelf
        from ..machine.feeders import ProfileShelf

        folder = Path(name).parent
        with Waiting() as waiting:
            compiled = compile_source(Source(name, text), ProfileShelf(folder), ScriptShelf(folder), progress=waiting)
        first = short(compiled.findings).partition("\n")[0]
        return compiled.plan, "" if compiled.plan else first
