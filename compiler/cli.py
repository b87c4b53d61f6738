"""The command line: reads files, hands profiles to the compiler and plans to targets, prints, sets the exit code."""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from .pipeline import Compiled
    from .source import Source

CLEAN, ERRORS, USAGE, INTERRUPTED = 0, 1, 2, 130
LARGEST = 256 * 1024


class Refusal(Exception):
    """Wrong usage or files, in one sentence."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is 0 clean, 1 errors in the script, 2 wrong usage or files, 130 interrupted."""
    try:
        options = _parser().parse_args(arguments)
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except Refusal as refusal:
        from .report.render import printable

        print(f"feedwright: {printable(str(refusal))}", file=sys.stderr)
        return USAGE
    except KeyboardInterrupt:
        print("feedwright: interrupted, nothing more is written", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader has gone; keep the interpreter from complaining when it flushes at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CLEAN
    except Exception as fault:
        # A fault of the program itself: one sentence for its user, the whole story for who asks for it.
        if "FEEDWRIGHT_TRACE" in os.environ:
            raise
        print(f"feedwright: a fault in the program itself ({type(fault).__name__}); nothing was written. "
              "FEEDWRIGHT_TRACE=1 shows where, for a report", file=sys.stderr)  # fmt: skip
        return USAGE


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="feedwright",
        description="Compile a coach's feed script into checked balls, a command stream and a feed sheet.",
        epilog="examples:\n"
        "  feedwright check wing.feed             problems, balls, time, variety\n"
        "  feedwright build wing.feed -o out      plan, sheet, table and, for a machine, the command stream\n"
        "  feedwright explain net-hit             what a message means and what to write instead",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=_Parser)
    check = commands.add_parser("check", help="check a script and sum it up", allow_abbrev=False)
    check.add_argument("file", metavar="FILE", help="a feed script; - reads standard input")
    check.add_argument("--json", action="store_true", help="findings and summary as JSON on standard output")
    check.add_argument("--short", action="store_true", help="one line a finding")
    check.set_defaults(run=_check)
    build = commands.add_parser("build", help="check a script and write everything it gives", allow_abbrev=False)
    build.add_argument("file", metavar="FILE", help="a feed script")
    build.add_argument("-o", "--output", metavar="DIR", default=".", help="where to write (made if missing)")
    build.add_argument("--short", action="store_true", help="one line a finding")
    build.set_defaults(run=_build)
    explain = commands.add_parser("explain", help="explain a message by its code", allow_abbrev=False)
    explain.add_argument("code", metavar="CODE", nargs="?", help="such as net-hit; without one, all codes are listed")
    explain.set_defaults(run=_explain)
    _add_replay(commands)
    return parser


def _add_replay(commands: "argparse._SubParsersAction[_Parser]") -> None:
    replay = commands.add_parser(
        "replay", help="play a built plan on a machine, armed by a person", allow_abbrev=False,
        epilog="exit codes: 0 played, or stopped and confirmed; 1 the plan is refused; 2 wrong usage or files; 3 port, "
        "device, or a stop that was not confirmed; 130 interrupted. Nothing is armed without a person at the keyboard.",
    )  # fmt: skip
    replay.add_argument("plan", metavar="PLAN", nargs="?", help="NAME.plan.json, as build writes it")
    replay.add_argument("--port", metavar="NAME", help="serial port of the machine; virtual plays with none")
    replay.add_argument("--list", action="store_true", help="list the ports there are")
    replay.add_argument("--from", dest="first", type=int, default=1, metavar="BALL", help="first ball")
    replay.add_argument("--to", dest="last", type=int, metavar="BALL", help="last ball")
    replay.add_argument("--loop", dest="loops", type=int, default=1, metavar="TIMES", help="so often, each armed anew")
    replay.add_argument("--continue", dest="go_on", action="store_true", help="go on after the last run's last ball")
    replay.add_argument("--sighters", action="store_true", help="first three balls to see, nobody in front")
    replay.add_argument("--dry-run", dest="dry", action="store_true", help="say what would happen at which second")
    replay.add_argument("--warning", dest="warning_s", type=float, default=10.0, metavar="SECONDS", help="time to walk")
    replay.add_argument("--clicker", choices=("stop", "marks"), default="stop", help="what a presenter's clicker does")
    replay.add_argument("--plain", action="store_true", help="plain lines, for pipes and screen readers")
    replay.add_argument("--quiet", action="store_true", help="no bells")
    replay.add_argument("--records", metavar="DIR", help="where the record of each run is kept")
    replay.add_argument("--faults", default="", metavar="LIST", help="of the virtual device, such as lost=0.1,jam_at=3")
    replay.set_defaults(run=_replay)
    device = commands.add_parser("device", help="a virtual machine behind a pseudo-terminal", allow_abbrev=False)
    device.add_argument("profile", metavar="PROFILE", help="feeder profile, such as club")
    device.add_argument("--faults", default="", metavar="LIST", help="such as lost=0.1,flipped=0.05,jam_at=3,mute")
    device.add_argument("--seed", type=int, default=1, help="of the faults")
    device.add_argument("--log", metavar="FILE", help="every launch as a line of JSON")
    device.set_defaults(run=_device)


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise Refusal(f"{message}; see {self.prog} --help")


def _check(options: argparse.Namespace) -> int:
    compiled = _compiled(options.file)
    if options.json:
        from .report.render import json_text

        summary = compiled.totals.model_dump() if compiled.totals else None
        sys.stdout.write(json_text(compiled.findings, summary=summary))
    else:
        _tell(compiled, options.short)
        _sum_up(compiled)
    return _verdict(compiled)


def _build(options: argparse.Namespace) -> int:
    compiled = _compiled(options.file)
    _tell(compiled, options.short)
    if compiled.plan is None:
        print("feedwright: nothing is written while an error stands", file=sys.stderr)
        return ERRORS
    from ..targets.files import write

    folder = Path(options.output)
    name = Path(options.file).name.removesuffix(".feed") if options.file != "-" else "script"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        paths = write(compiled.plan, folder, name)
    except OSError as error:
        raise Refusal(f"cannot write to {folder}: {error.strerror or error}; nothing was written") from error
    _sum_up(compiled)
    for path in paths:
        print(f"wrote {path}")
    return CLEAN


def _explain(options: argparse.Namespace) -> int:
    from .report.codes import CODES

    if options.code is None:
        for name, code in CODES.items():
            print(f"{name:18} {code.severity.value:8} {code.title}")
        return CLEAN
    if options.code not in CODES:
        from difflib import get_close_matches

        near = get_close_matches(options.code, CODES, 3)
        raise Refusal(f"there is no code {options.code}" + (f"; did you mean {' or '.join(near)}?" if near else ""))
    code = CODES[options.code]
    example, instead = (text.replace("\n", "\n    ") for text in (code.example, code.instead))
    print(f"{options.code} ({code.severity.value}): {code.title}\n\n{code.why}\n")
    print(f"For example:\n    {example}\n\nInstead:\n    {instead}")
    return CLEAN


def _replay(options: argparse.Namespace) -> int:
    from ..targets.replay.command import Wanted, list_ports, replay
    from .verify import verify

    if options.list:
        return list_ports()
    if options.plan is None:
        raise Refusal("which plan? see feedwright replay --help")
    given = {name: value for name, value in vars(options).items() if name in Wanted.__slots__}
    return replay(Wanted(**given, marks=options.clicker == "marks"), verify)


def _device(options: argparse.Namespace) -> int:
    from ..targets.replay.command import device

    return device(options.profile, options.faults, options.seed, options.log)


def _compiled(name: str) -> "Compiled":
    from ..targets.feeders import ProfileShelf
    from .pipeline import compile_source

    source = _source(name)
    return compile_source(source, ProfileShelf(Path(name).parent if name != "-" else None))


def _source(name: str) -> "Source":
    """The script, read once; Refusal where it is no readable text of a sensible size."""
    from .source import Source

    try:
        if name == "-":
            data = sys.stdin.buffer.read(LARGEST + 1)
        else:
            path = Path(name)
            if path.is_dir():
                raise Refusal(f"{name} is a folder, not a script")
            if path.exists() and not path.is_file():
                raise Refusal(f"{name} is no ordinary file")
            with path.open("rb") as stream:
                data = stream.read(LARGEST + 1)
    except OSError as error:
        raise Refusal(f"cannot read {name}: {error.strerror or error}") from error
    except ValueError as error:
        raise Refusal(f"cannot read {name}: {error}") from error
    if len(data) > LARGEST:
        raise Refusal(f"{name} is larger than {LARGEST // 1024} KB; no script needs so much")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Refusal(f"{name} is not UTF-8 text: line {line} holds a byte that cannot be read") from error
    if "\0" in text:
        raise Refusal(
            f"{name} holds a NUL character in line {text[: text.index(chr(0))].count(chr(10)) + 1}; it is no text"
        )
    if not text.strip():
        raise Refusal(f"{name} is empty")
    return Source(name, text.replace("\r\n", "\n").replace("\r", "\n"))


def _tell(compiled: "Compiled", short: bool) -> None:
    from .report import render

    if compiled.findings:
        colour = sys.stderr.isatty() and "NO_COLOR" not in os.environ
        text = render.short(compiled.findings) if short else render.human(compiled.findings, colour)
        print(text, file=sys.stderr, end="" if short else "\n")


def _sum_up(compiled: "Compiled") -> None:
    from .report.codes import CODES
    from .report.finding import Severity
    from .units import clock

    counts = {s: sum(CODES[f.code].severity is s for f in compiled.findings) for s in Severity}
    told = [f"{n} {s.value}{'s' if n > 1 else ''}" for s, n in counts.items() if n]
    print(f"{compiled.source.name}: {', '.join(told) or 'no problems'}")
    totals = compiled.totals
    if totals:
        print(
            f"{totals.balls} balls in {clock(totals.duration_s)} min, {totals.distinct_shots} distinct balls; "
            f"the next ball differs from the last {totals.variety:.0%} of the time"
        )


def _verdict(compiled: "Compiled") -> int:
    from .report.codes import CODES
    from .report.finding import Severity

    return ERRORS if any(CODES[f.code].severity is Severity.ERROR for f in compiled.findings) else CLEAN


if __name__ == "__main__":
    sys.exit(main())
