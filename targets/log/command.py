"""`feedwright log`: each command reads or writes the log and says what it did. LogRefused: one sentence, exit 2."""

import argparse
import os
import secrets
import sys
from collections.abc import Callable, Iterable
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from ...compiler.printable import plural, say, visible
from . import LogRefused

if TYPE_CHECKING:
    from ...compiler.model.plan import Plan
    from .figures import Figures, Scope

LISTED = 20


class Scripts(Protocol):
    """Reads and compiles scripts; the command line supplies it."""

    def read(self, name: str) -> str:
        """The text of a script's file."""
        ...

    def plan(self, name: str, text: str) -> "tuple[Plan | None, str]":
        """The plan of a script that stands or would stand at that place, the same that `build` gives; or
        None and the first thing that is wrong with it."""
        ...


def run(options: argparse.Namespace, scripts: Scripts) -> int:
    from .store import default_path

    given = getattr(options, "db", None)
    if given == "":
        raise LogRefused("--db needs the name of a file")
    path = Path(given) if given else default_path()
    if "\0" in str(path):
        raise LogRefused("the name of a log's file holds a NUL character")
    work: dict[str, Callable[[argparse.Namespace, Path, Scripts], None]] = {
        "list": _list, "add": _add, "show": _show, "advice": _advice,
        "plan": _plan, "export": _export, "forget": _forget, "merge": _merge,
    }  # fmt: skip
    work[options.log](options, path, scripts)
    return 0


def _list(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from rich.console import Console

    from .figures import Scope, figures
    from .store import open_to_read, told
    from .terminal import listed

    with closing(open_to_read(path)) as database, told(path):
        found = figures(database, Scope(), None if options.all else LISTED)
        (count,) = database.execute("SELECT count(*) FROM practices").fetchone()
    if not count:
        raise LogRefused(f"the practice log {path} holds no practice yet")
    listed(found, count, Console())


def _add(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .advice import against_plan
    from .record import Recorder
    from .store import moment
    from .typed import asked, counts, identity, read_csv

    when = moment(options.when) if options.when else datetime.now().astimezone()
    plan = _planned(options.plan, scripts)
    if options.csv:
        data = _bytes(options.csv)
        typed, uid = read_csv(data, plan, when), identity(plan, data, options.when or "")
    else:
        typed = asked(plan, _ask, _again if sys.stdin.isatty() else None, when)
        uid = identity(plan, counts(typed), when.date().isoformat())
    if options.again:
        uid = secrets.token_hex(16)
    if not (typed.balls or typed.points or typed.scores):
        raise LogRefused("no ball was counted, so nothing was written")
    with Recorder(plan, path) as log:
        began = min((ball.when for ball in typed.balls), default=when)
        if not log.sheet(typed.balls, typed.best, uid, began, typed.in_order, typed.points, typed.scores):
            _once_more(options, when)
            again = secrets.token_hex(16)
            log.sheet(typed.balls, typed.best, again, began, typed.in_order, typed.points, typed.scores)
    judged = sum(ball.verdict.value != "n" for ball in typed.balls)
    points = sum(one.tally.played for one in typed.points)
    more = f" and {plural(points, 'point')}" if points else ""
    say(f"{plural(len(typed.balls), 'ball')}{more} written, {judged} of the balls judged, to {path}" if more else
        f"{plural(len(typed.balls), 'ball')} written, {judged} of them judged, to {path}")  # fmt: skip
    for sentence in against_plan(plan, ((ball.shot, ball.verdict) for ball in typed.balls)):
        say(sentence)


def _once_more(options: argparse.Namespace, when: datetime) -> None:
    """For a practice that the log already has: LogRefused unless there was another one like it."""
    if options.csv:
        raise LogRefused(f"{options.csv} is in the log already; if it is another practice, --when says which day")
    there = f"a sheet of {when:%Y-%m-%d} with this plan and these counts is in the log already"
    if not sys.stdin.isatty():
        raise LogRefused(f"{there}; --again adds it all the same")
    if _ask(f"{there}; is this another practice, to add as well? yes or no:").strip().lower() != "yes":
        raise LogRefused("nothing was written")


def _show(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .corrections import kept, sentence
    from .store import open_to_read, told

    with closing(open_to_read(path)) as database, told(path):
        corrected = {} if options.program else kept(database)
        (practices,) = database.execute("SELECT count(*) FROM practices").fetchone()
    if options.html:
        from .page import render

        page = render(_figures(options, path, rungs=True), corrected)
        _write(Path(options.html), [page])
        say(f"wrote {options.html}")
        return
    from rich.console import Console

    from .terminal import show

    if practices or not corrected:
        show(_figures(options, path, rungs=False), Console())
    for profile, records in corrected.items():
        say(sentence(profile, records))


def _advice(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .advice import CLOSING, advice

    for sentence in [*advice(_figures(options, path, rungs=True)), CLOSING]:
        say(sentence)


def _plan(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .figures import Scope, figures
    from .next_session import MARK, next_session
    from .store import open_to_read, told

    text, output = scripts.read(options.script), Path(options.output)
    plan, why = scripts.plan(options.script, text)
    if plan is None:
        raise LogRefused(f"{options.script} does not compile: {why}; feedwright check tells more")
    if output.exists() and not (output.is_file() and _starts_with(output, MARK.encode())):
        raise LogRefused(f"{output} already exists and was not written by log plan; it stays unchanged")
    with closing(open_to_read(path)) as database, told(path):
        variations = figures(database, Scope(plan.program)).variations
    if not variations:
        raise LogRefused(f'the practice log {path} holds no practice of "{plan.program}"')

    def compiles(candidate: str) -> str:
        return scripts.plan(options.output, candidate)[1]

    new = next_session(text, plan, variations, compiles)
    _write(output, [new.encode()])
    say(f"wrote {output}")


def _export(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .exchange import export
    from .store import open_to_read, told

    scope = _scope(options)
    with closing(open_to_read(path)) as database, told(path):
        pieces = export(database, scope)
        if options.output:
            count = _write(Path(options.output), pieces)
            say(f"{plural(count - 1, 'ball')} written to {options.output}")
            return
        try:
            sys.stdout.buffer.writelines(pieces)
        except BrokenPipeError:
            raise
        except OSError as error:
            raise LogRefused(f"cannot write the CSV: {error.strerror or error}") from error


def _forget(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .exchange import forget, matching
    from .store import open_to_read, told, utc

    before = utc(_day(options.before)) if options.before else None
    with closing(open_to_read(path)) as database, told(path):
        practices, balls = matching(database, options.program, before)
    what = f"{plural(practices, 'practice')} with {plural(balls, 'ball')}"
    if not options.yes and _ask(f"delete {what} from {path} for good? yes or no:").strip().lower() != "yes":
        raise LogRefused("nothing was deleted")
    forget(path, options.program, before)
    say(f"{what} deleted from {path}, and all back-ups")


def _merge(options: argparse.Namespace, path: Path, scripts: Scripts) -> None:
    from .exchange import merge

    for name in options.other:
        practices, balls = merge(path, Path(name))
        say(f"{plural(practices, 'new practice')} and {plural(balls, 'new ball')} from {name}")


def _figures(options: argparse.Namespace, path: Path, rungs: bool) -> "Figures":
    from .figures import count_rungs, figures
    from .store import open_to_read, told

    scope = _scope(options)
    with closing(open_to_read(path)) as database, told(path):
        found = figures(database, scope)
        if rungs:
            count_rungs(database, found)
        programs = [title for (title,) in database.execute("SELECT DISTINCT program FROM plans ORDER BY program")]
    if not found.practices:
        if scope.program is not None and scope.program not in programs:
            from difflib import get_close_matches

            near = get_close_matches(scope.program, programs, 3, 0.4)
            hint = f"; it holds {' and '.join(near or programs[:3])}" if programs else ""
            raise LogRefused(f'the practice log holds no program "{scope.program}"{hint}')
        raise LogRefused(f"the practice log {path} holds no such practice yet")
    return found


def _scope(options: argparse.Namespace) -> "Scope":
    from .figures import Scope
    from .store import utc

    return Scope(options.program, utc(_day(options.since)) if options.since else None)


def _day(text: str) -> datetime:
    """A moment, or the beginning of a day."""
    from .store import moment

    found = moment(text)  # an error quotes the text as typed
    return moment(f"{text}T00:00") if len(text) == len("2026-05-01") else found


def _planned(name: str, scripts: Scripts) -> "Plan":
    if name.endswith(".json"):
        from ..document import LIMIT, PlanRefused, read

        try:
            return read(_bytes(name, LIMIT + 1))
        except PlanRefused as refused:
            raise LogRefused(f"{name}: {str(refused).rstrip('.')}") from None
    if name == "-":
        raise LogRefused("log add needs a file; standard input is for the answers")
    plan, why = scripts.plan(name, scripts.read(name))
    if plan is None:
        raise LogRefused(f"{name} does not compile: {why}; feedwright check tells more")
    return plan


def _ask(question: str) -> str:
    try:
        return input(visible(question) + " ")
    except EOFError:
        raise LogRefused("the answers ended too early, so nothing was written") from None
    except UnicodeDecodeError:
        raise LogRefused("an answer is not UTF-8 text, so nothing was written") from None


def _again(why: str) -> None:
    say(why, sys.stderr)


def _bytes(name: str, limit: int = 1024 * 1024 + 1) -> bytes:
    """The bytes of an ordinary file, up to a length that its reader refuses."""
    try:
        path = Path(name)
        if path.exists() and not path.is_file():
            raise LogRefused(f"{name} is not an ordinary file")
        with path.open("rb") as stream:
            return stream.read(limit)
    except OSError as error:
        raise LogRefused(f"cannot read {name}: {error.strerror or error}") from None
    except ValueError as error:
        raise LogRefused(f"cannot read {name}: {error}") from None


def _starts_with(path: Path, mark: bytes) -> bool:
    return _bytes(str(path), len(mark)) == mark


def _write(path: Path, pieces: Iterable[bytes]) -> int:
    """Write all of it or nothing, never over a log. Returns the number of pieces."""
    if not path.name:
        raise LogRefused(f"{path} is not the name of a file to write")
    fresh = path.with_name(f".{secrets.token_hex(6)}.{path.name}")
    try:
        if path.exists() and (not path.is_file() or _starts_with(path, b"SQLite format 3")):
            raise LogRefused(f"{path} is not a file to write this to")
        count = 0
        with fresh.open("xb") as stream:
            for piece in pieces:
                stream.write(piece)
                count += 1
        os.replace(fresh, path)
        return count
    except (OSError, ValueError) as error:
        raise LogRefused(f"cannot write {path}: {getattr(error, 'strerror', None) or error}") from error
    finally:
        if fresh.exists():
            fresh.unlink()
