"""The command line: reads files, hands profiles to the compiler and plans to targets, prints, sets the exit code."""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from .model.plan import Plan
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
    papers = {
        "sheet": ("print pages for the feeder, as PDF and HTML", _sheet),
        "cues": ("write a sound track: beeps and a tone at each ball", _cues),
        "show": ("draw what each ball does", _show),
    }
    for name, (told, run) in papers.items():
        paper = commands.add_parser(name, help=told, allow_abbrev=False)
        paper.add_argument("file", metavar="FILE", help="a feed script or a plan (NAME.plan.json)")
        paper.add_argument("-o", "--output", metavar="DIR", default=".", help="where to write (made if missing)")
        paper.add_argument("--short", action="store_true", help="one line a finding")
        paper.set_defaults(run=run)
        if name == "sheet":
            paper.add_argument("--paper", choices=("a4", "letter"), default="a4", help="size of the paper (a4)")
            paper.add_argument("--large", action="store_true", help="larger print, on more pages")
            paper.add_argument("--partner", action="store_true", help="for two players without a feeder")
            paper.add_argument("--date", metavar="YYYY-MM-DD", help="print this date; none is printed without it")
        elif name == "show":
            paper.add_argument(
                "--feed", metavar="BALL", default="", help="letter or name of the ball to see from the side"
            )
            paper.add_argument("--html", action="store_true", help="write a page for a browser instead")
            paper.add_argument("--watch", action="store_true", help="serve the page here, fresh after each save")
            paper.add_argument("--port", type=int, default=0, help="port to serve on; without it a free one is taken")
    explain = commands.add_parser("explain", help="explain a message by its code", allow_abbrev=False)
    explain.add_argument("code", metavar="CODE", nargs="?", help="such as net-hit; without one, all codes are listed")
    explain.set_defaults(run=_explain)
    return parser


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


def _sheet(options: argparse.Namespace) -> int:
    plan = _plan(options)
    if plan is None:
        return ERRORS
    from datetime import date

    from ..targets.sheet import html, layout, partner, pdf

    try:
        day = date.fromisoformat(options.date).isoformat() if options.date else ""
    except ValueError as error:
        raise Refusal(f"--date takes a day such as 2026-05-31, not {options.date}") from error
    try:
        form = partner.document if options.partner else layout.document
        pages = form(plan, options.paper, options.large, day)
    except ValueError as error:
        raise Refusal(str(error)) from error
    outputs = {"sheet.html": html.render(pages)}
    try:
        outputs = {"sheet.pdf": pdf.render(pages), **outputs}
    except pdf.NoTypesetter as missing:
        print(f"feedwright: {missing}", file=sys.stderr)
    return _wrote(options, outputs)


def _cues(options: argparse.Namespace) -> int:
    plan = _plan(options)
    if plan is None:
        return ERRORS
    from ..targets import cues

    return _wrote(options, {"cues.wav": cues.render(plan)})


def _show(options: argparse.Namespace) -> int:
    if options.watch:
        return _watch(options)
    plan = _plan(options)
    if plan is None:
        return ERRORS
    from .trace import trajectories

    if options.html:
        from ..targets.show import page

        return _wrote(options, {"picture.html": page.render(plan, trajectories(plan))})
    from shutil import get_terminal_size

    from ..targets.show import terminal

    try:
        text = terminal.render(plan, trajectories(plan), options.feed, get_terminal_size((100, 24)).columns,
                               sys.stdout.isatty() and "NO_COLOR" not in os.environ)  # fmt: skip
    except terminal.NoBall as error:
        raise Refusal(str(error)) from error
    encoding = sys.stdout.encoding or "utf-8"  # a terminal may lack a letter of the script or a degree sign
    sys.stdout.write(text.encode(encoding, "backslashreplace").decode(encoding))
    return CLEAN


def _watch(options: argparse.Namespace) -> int:
    from ..targets.show import watch
    from .report import render
    from .trace import trajectories

    def build() -> "tuple[watch.State, str]":
        try:
            compiled = _compiled(options.file)
        except Refusal as refusal:  # half saved, or away for a moment
            return None, str(refusal)
        text = render.human(compiled.findings, False) if compiled.findings else ""
        return ((compiled.plan, trajectories(compiled.plan)) if compiled.plan else None), text

    if options.file == "-" or options.file.endswith(".json"):
        raise Refusal("--watch follows a feed script that is saved again and again, not a plan or standard input")
    _source(options.file)
    try:
        served = watch.server(seen := watch.Watch(Path(options.file), build), options.port)
    except (OSError, OverflowError) as error:
        raise Refusal(f"cannot serve on port {options.port}: {error}") from error
    print(f"http://{watch.HOST}:{served.server_address[1]}/ shows {options.file}; Ctrl-C ends", flush=True)
    watch.run(seen, served)
    return CLEAN


def _plan(options: argparse.Namespace) -> "Plan | None":
    """The plan of a script or in a plan document; None after its errors were told."""
    if not options.file.endswith(".json"):
        compiled = _compiled(options.file)
        _tell(compiled, options.short)
        if compiled.plan is None:
            print("feedwright: nothing is written while an error stands", file=sys.stderr)
        return compiled.plan
    from ..targets.document import LIMIT, PlanRefused, read

    try:
        return read(_bytes(options.file, LIMIT))
    except PlanRefused as refused:
        raise Refusal(f"{options.file}: {refused}") from refused


def _wrote(options: argparse.Namespace, outputs: dict[str, bytes]) -> int:
    """Write NAME.SUFFIX for each output, all or none, and tell where."""
    from ..targets.files import write_outputs

    folder = Path(options.output)
    name = Path(options.file).name.removesuffix(".json").removesuffix(".plan").removesuffix(".feed")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        paths = write_outputs(folder, name if options.file != "-" else "script", outputs)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise Refusal(f"cannot write to {folder}: {reason}; nothing was written") from error
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


def _compiled(name: str) -> "Compiled":
    from ..targets.feeders import ProfileShelf
    from .pipeline import compile_source

    source = _source(name)
    return compile_source(source, ProfileShelf(Path(name).parent if name != "-" else None))


def _source(name: str) -> "Source":
    """The script, read once; Refusal where it is no readable text of a sensible size."""
    from .source import Source

    data = _bytes(name, LARGEST)
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


def _bytes(name: str, most: int) -> bytes:
    """A file's bytes, read once; Refusal where it can't be read or is larger than `most`."""
    try:
        if name == "-":
            data = sys.stdin.buffer.read(most + 1)
        else:
            path = Path(name)
            if path.is_dir():
                raise Refusal(f"{name} is a folder, not a script")
            if path.exists() and not path.is_file():
                raise Refusal(f"{name} is no ordinary file")
            with path.open("rb") as stream:
                data = stream.read(most + 1)
    except OSError as error:
        raise Refusal(f"cannot read {name}: {error.strerror or error}") from error
    except ValueError as error:
        raise Refusal(f"cannot read {name}: {error}") from error
    if len(data) > most:
        raise Refusal(f"{name} is larger than {most // 1024} KB; no script needs so much")
    return data


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
