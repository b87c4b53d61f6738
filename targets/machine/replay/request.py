"""What the command line asks of a replay, and how it is refused."""

import shlex
from dataclasses import dataclass
from pathlib import Path

from ...folders import NoHome, state
from ...log import LogRefused
from ...log.store import default_path

CLEAN, ERRORS, USAGE, DEVICE, INTERRUPTED = 0, 1, 2, 3, 130
SIMULATED = "simulated"


class RequestRefused(Exception):
    """Why a request is refused, in one sentence, with the exit code."""

    def __init__(self, sentence: str, code: int = USAGE) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class Request:
    """The options of the command line; its help explains them."""

    plan: str
    port: str | None = None
    first: int = 1
    last: int | None = None
    loops: int = 1
    first_balls: bool = False
    go_on: str | None = None
    """Which run is to go on: its number in the list or its short name; "" leaves it open, None starts a new run."""
    dry: bool = False
    plain: bool = False
    quiet: bool = False
    walk_s: float = 10.0
    marks: bool = False
    faults: str = ""
    seed: int | None = None
    records: str | None = None
    db: str | None = None
    no_log: bool = False
    court: str | None = None
    """Where the page for phones is served; "" is this computer alone, None serves none."""
    court_view: bool = False
    guard: bool = False
    certificate: str | None = None

    @property
    def rehearsal(self) -> bool:
        """Whether the machine is simulated."""
        return self.port == SIMULATED

    def again(self, run: str) -> str:
        """The line to type to continue the run of this name with the same options."""
        said = ["feedwright", "replay", self.plan, "--port", self.port or "PORT"]
        given_to = (("--records", self.records), ("--db", self.db), ("--court", self.court),
                    ("--certificate", self.certificate))  # fmt: skip
        for option, value in given_to:
            said += [option, value] if value else []
        said += ["--walk-time", f"{self.walk_s:g}"] if self.walk_s != 10.0 else []
        switches = (("--plain", self.plain), ("--quiet", self.quiet), ("--no-log", self.no_log),
                    ("--court", self.court == ""), ("--court-view", self.court_view),
                    ("--guard", self.guard))  # fmt: skip
        for option, given in switches:
            said += [option] * given
        return shlex.join([*said, *(["--clicker", "marks"] if self.marks else []), "--continue", run])


@dataclass(frozen=True, slots=True)
class Storage:
    """The folder of the runs and the file of the practice log; a rehearsal has its own beside them."""

    runs: Path
    log: Path | None
    """None if no log is kept."""


def storage(wanted: Request, rehearsal: bool) -> Storage:
    """RequestRefused if there is no place to keep them."""
    try:
        runs = Path(wanted.records) if wanted.records else state("--records DIR") / "runs"
        log = None if wanted.no_log else Path(wanted.db) if wanted.db else default_path()
        if not rehearsal:
            return Storage(runs, log)
        apart = runs if wanted.records else runs.parent
        return Storage(apart / "rehearsals", log and log.with_name(f"{log.stem}.rehearsals{log.suffix}"))
    except (NoHome, LogRefused) as error:
        raise RequestRefused(str(error)) from error
    except ValueError as error:
        raise RequestRefused("--db needs the name of a file") from error
