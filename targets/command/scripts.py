"""What a machine is measured for: the balls of scripts, and where their feeders stand."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from ...compiler.calibration.place import sentences_of
from ...compiler.calibration.scripts import ScriptBalls, balls_of_script
from ...compiler.model.feeder import Feeder
from ...compiler.pipeline import compile_source
from ...compiler.scripts import Refusal
from ...grammar import syntax as s
from ...grammar.edits import name
from ...grammar.frozen import replace
from ...grammar.print import text as printed
from ...grammar.source import Source
from ...programs import ScriptShelf
from ..machine.feeders import ProfileShelf
from .waiting import Waiting


class Instead:
    """The profiles of a folder, but these in place of those of their names."""

    def __init__(self, folder: Path, given: Mapping[str, Feeder]) -> None:
        self._shelf, self._given = ProfileShelf(folder), given

    def names(self) -> Iterable[str]:
        return sorted({*self._shelf.names(), *self._given})

    def load(self, name: str) -> Feeder | None:
        return self._given.get(name) or self._shelf.load(name)


def head_of(source: Source, feeder: Feeder) -> list[str]:
    """The sentences of a script that say where its balls are thrown, with this feeder in place of its own."""
    kind = s.keyword("MACHINE" if feeder.kind == "machine" else "PERSON")
    return [
        printed(replace(one, sort=kind, name=name(feeder.name)) if isinstance(one, s.Feeder) else one)
        for one in sentences_of(source.text, source.name)
    ]


def balls_of(sources: Sequence[Source], given: Mapping[str, Feeder], waiting: Waiting) -> list[ScriptBalls]:
    """The balls of scripts for one of the feeders that are given; Refusal if a script has errors or is for another."""
    found = []
    for source in sources:
        folder = Path(source.name).parent
        made = compile_source(
            source, Instead(folder, given), ScriptShelf(folder), plan=False, progress=waiting, remedies=False
        )
        if made.program is None or made.shots is None or not made.shots.shots:
            raise Refusal(f"{source.name} has errors; feedwright check {source.name} shows them")
        if made.program.feeder.name not in {feeder.name for feeder in given.values()}:
            wanted = " or ".join(sorted(given))
            raise Refusal(f"{source.name} is for the feeder {made.program.feeder.name}, not for {wanted}")
        if made.program.from_each_place(made.program.feeds):
            raise Refusal(f"{source.name} is fed from several places; name a script for each of them")
        found.append(balls_of_script(made.program, made.shots))
    return found
