"""The language server: the scripts that an editor has open, and what they come to.

Scripts are compiled in one thread of their own, the newest text of each alone: a newer text ends the work on an older
one, but nobody who stops waiting does. Problems of the sentences come first, then those of the balls; remedies are
looked for in another thread, once they are asked for. Every answer is about the text as it is when the answer is given;
a script that is not open is an empty one. Nothing is written: changes are proposed to the editor.
"""

import asyncio
import os
from collections.abc import Callable, Coroutine, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from lsprotocol import types as t
from pygls import uris
from pygls.lsp.server import LanguageServer

from ...compiler.include import EditedLibrary, Library
from ...compiler.model.feeder import Profiles
from ...compiler.pipeline import Compiled, compile_read, compile_source, read_source
from ...compiler.progress import Overtaken, WhileWanted
from ...compiler.scripts import sourced
from ...compiler.service.script import NamePlace, Script, opened
from ...compiler.service.telling import Problem, carried, problems
from ...grammar import syntax as s
from ...grammar.edits import Edit
from ...grammar.finding import Finding, Severity
from ...grammar.source import Source, Span
from ...programs import ScriptShelf
from ..machine.feeders import ProfileShelf
from .positions import Positions
from .texts import OpenText

GRADES = {
    Severity.ERROR: t.DiagnosticSeverity.Error,
    Severity.WARNING: t.DiagnosticSeverity.Warning,
    Severity.NOTE: t.DiagnosticSeverity.Information,
}
Tasks = dict[str, "asyncio.Task[None]"]


class JudgedText(NamedTuple):
    """A text and what it came to; None if the compiler itself is at fault."""

    text: str
    compiled: Compiled | None = None
    problems: tuple[Problem, ...] = ()
    slips: tuple[Problem, ...] = ()
    """Those of the problems that the sentences have, whatever the balls do."""


class Editor(LanguageServer):
    """With `plans`, a text without errors is compiled to its plan too. Servers of one process share a `worker`."""

    def __init__(self, version: str, plans: bool = False, worker: ThreadPoolExecutor | None = None) -> None:
        super().__init__("feedwright", version)
        self.worker, self._plans = worker or ThreadPoolExecutor(1), plans
        self._aside = ThreadPoolExecutor(1)
        for event in (t.TEXT_DOCUMENT_DID_OPEN, t.TEXT_DOCUMENT_DID_CHANGE, t.TEXT_DOCUMENT_DID_CLOSE):
            del self.protocol.fm.builtin_features[event]  # they end a line where the protocol does not
        self._open: dict[str, OpenText] = {}
        self._judging: Tasks = {}
        self._looking: Tasks = {}
        self._scripts: dict[str, Script] = {}
        self._judged: dict[str, JudgedText] = {}
        self._mended: dict[str, JudgedText] = {}
        self._published: dict[str, tuple[int | None, tuple[Problem, ...]]] = {}
        """The last problems that were told of a script, and of which version."""
        self._settled: set[str] = set()
        """The scripts all of whose problems are told as they are now."""

    # ---- texts

    def folder(self, uri: str) -> Path | None:
        path = uris.to_fs_path(uri)
        return Path(path).parent if path else None

    def source(self, uri: str) -> Source:
        name = os.path.basename(uris.to_fs_path(uri) or uri)
        return sourced(name, self._open[uri].sent if uri in self._open else "")

    def open_text(self, uri: str) -> OpenText | None:
        return self._open.get(uri)

    @property
    def units(self) -> Callable[[str], int]:
        """Counts the client's units in a text."""
        return self.workspace.position_codec.client_num_units

    def positions(self, text: str) -> Positions:
        return Positions(text, self.units)

    def library(self, uri: str) -> Library:
        """The scripts beside one, as they are in the editor where they are open there."""
        folder = self.folder(uri)
        found: Library = ScriptShelf(folder)
        for other in self._open:
            if other != uri and self.folder(other) == folder:
                found = EditedLibrary(found, self.source(other))
        return found

    def profiles(self, uri: str) -> Profiles:
        return ProfileShelf(self.folder(uri))

    def script(self, uri: str) -> Script:
        """Read once for each text; one that uses others each time, since they may have changed."""
        source, known = self.source(uri), self._scripts.get(uri)
        if known is None or known.source != source or any(known.tree.of(s.Use)):
            known = opened(source, self.library(uri))
            if uri in self._open:
                self._scripts[uri] = known
        return known

    def uri_of(self, uri: str, span: Span) -> str | None:
        """Where a place is: in the script itself or one beside it; None for what is not in a file of the user's."""
        folder = self.folder(uri)
        if span.source.name == self.source(uri).name:
            return uri
        if folder and (folder / span.source.name).is_file():
            return uris.from_fs_path(str(folder / span.source.name))
        return None

    # ---- what it comes to

    async def judged(self, uri: str) -> JudgedText:
        """What the present text comes to, without remedies; compiled now if it was not."""
        while uri in self._open:
            if (known := self._known(self._judged, uri)) is not None:
                return known
            await asyncio.shield(self._going(self._judging, uri, self._judge))
        return JudgedText("")

    def _known(self, found: Mapping[str, JudgedText], uri: str) -> JudgedText | None:
        """What was found of the present text."""
        known = found.get(uri)
        return known if known and known.text == self.source(uri).text else None

    def _going(self, tasks: Tasks, uri: str, work: Callable[[str], Coroutine[Any, Any, None]]) -> "asyncio.Task[None]":
        """Work on a script: what goes on already, or begins now."""

        async def until_done() -> None:
            try:
                await work(uri)
            finally:
                del tasks[uri]

        if uri not in tasks:
            tasks[uri] = asyncio.get_running_loop().create_task(until_done())
        return tasks[uri]

    async def _judge(self, uri: str) -> None:
        """Works out the newest text, and tells its problems."""
        while uri in self._open and self._known(self._judged, uri) is None:
            with suppress(Overtaken):
                found = await self._compiled(uri)
                if uri in self._open and self._known(self._judged, uri) is None:
                    self._judged[uri] = found
        self._tell_known(uri)

    async def _compiled(self, uri: str) -> JudgedText:
        source, wanted, loop = self.source(uri), self._wanted(uri), asyncio.get_running_loop()
        work = partial(loop.run_in_executor, self.worker)
        slips: tuple[Problem, ...] = ()
        found = partial(problems, source=source, looked=False)
        try:
            read = await work(read_source, source, self.profiles(uri), self.library(uri))
            before, slips = self._judged.get(uri, JudgedText("")), found(read.findings)
            if slips or before.slips:  # else nothing changes before the balls are known
                older = [one for one in before.problems if one not in before.slips]
                self.publish(uri, source.text, (*slips, *carried(older, source)))

            def judged(findings: tuple[Finding, ...]) -> None:
                loop.call_soon_threadsafe(self._tell, uri, source.text, found(findings))

            compiled = await work(partial(compile_read, read, plan=self._plans, progress=wanted, judged=judged))
        except Overtaken:
            raise
        except Exception:  # the editor goes on; the command line tells of a fault
            return JudgedText(source.text, None, slips, slips)
        return JudgedText(source.text, compiled, found(compiled.findings), slips)

    async def mended(self, uri: str) -> JudgedText:
        """The same with remedies, which take longer; without them if the text changes meanwhile."""
        judged = await self.judged(uri)
        while judged.problems and self._known(self._judged, uri) is judged:
            if (known := self._known(self._mended, uri)) is not None:
                return known
            await asyncio.shield(self._going(self._looking, uri, self._look))
        return judged

    async def _look(self, uri: str) -> None:
        """Looks for remedies of a judged text."""
        judged, source, wanted = self._known(self._judged, uri), self.source(uri), self._wanted(uri)
        if judged is None:
            return
        look = partial(compile_source, source, self.profiles(uri), self.library(uri), plan=False,
                       progress=wanted, trials=wanted)  # fmt: skip
        found = judged
        try:
            compiled = await asyncio.get_running_loop().run_in_executor(self._aside, look)
            found = judged._replace(problems=problems(compiled.findings, source))
        except Overtaken:
            return
        except Exception:  # as above: without remedies
            pass
        if self._known(self._judged, uri) is judged:
            self._mended[uri] = found
            if [one.text for one in found.problems] != [one.text for one in judged.problems]:
                self.publish(uri, judged.text, found.problems)  # that there is no remedy may be said too

    def _wanted(self, uri: str) -> WhileWanted:
        """Until the text changes."""
        text = self._open.get(uri)
        return WhileWanted(lambda: self._open.get(uri) is text)

    def _tell_known(self, uri: str) -> None:
        if known := self._known(self._judged, uri):
            self._tell(uri, known.text, known.problems)

    def _tell(self, uri: str, text: str, found: tuple[Problem, ...]) -> None:
        """All problems of a text, once: as soon as they are known, before its plan is made."""
        if uri not in self._settled and self.publish(uri, text, found):
            self._settled.add(uri)
            self.told(uri)

    def publish(self, uri: str, text: str, found: tuple[Problem, ...]) -> bool:
        """False if the text has changed since."""
        if uri not in self._open or self.source(uri).text != text:
            return False
        version = self._open[uri].version
        if self._published.get(uri) == (version, found):
            return True  # what is wrong with the sentences may be all
        self._published[uri] = version, found
        at = self.positions(text)
        told = [diagnostic(problem, at) for problem in found]
        self.text_document_publish_diagnostics(t.PublishDiagnosticsParams(uri, told, version))
        return True

    def told(self, uri: str) -> None:
        """All problems of the present text are published."""

    def typed(self, uri: str, text: OpenText) -> None:
        """A script was opened or changed: its problems are told once they are known, whoever waits."""
        self._open[uri] = text
        self._settled.discard(uri)
        self._published.pop(uri, None)
        self._tell_known(uri)  # what was taken back
        self._going(self._judging, uri, self._judge)

    def forget(self, uri: str) -> None:
        self._settled.discard(uri)
        kept: tuple[dict[str, Any], ...] = (self._open, self._scripts, self._judged, self._mended, self._published)
        for one in kept:
            one.pop(uri, None)
        self.text_document_publish_diagnostics(t.PublishDiagnosticsParams(uri, []))

    def change(self, uri: str, edits: tuple[Edit, ...]) -> t.WorkspaceEdit | None:
        """The edits by file; None if one lies in no file of the user's."""
        changes: dict[str, list[t.TextEdit]] = {}
        for edit in edits:
            there = self.uri_of(uri, edit.span)
            if there is None:
                return None
            at = self.positions(edit.span.source.text)
            changes.setdefault(there, []).append(t.TextEdit(at.range(edit.span), edit.text))
        return t.WorkspaceEdit(changes)

    def location(self, uri: str, name: NamePlace) -> t.Location | None:
        there = self.uri_of(uri, name.span)
        return t.Location(there, self.positions(name.span.source.text).range(name.span)) if there else None


def diagnostic(problem: Problem, at: Positions) -> t.Diagnostic:
    return t.Diagnostic(
        at.range(problem.span), problem.text, GRADES[problem.severity], code=problem.code, source="feedwright"
    )
