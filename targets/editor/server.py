"""The language server: turns requests of an editor into calls of the service, and its answers into the protocol's.

Scripts are compiled in one thread of their own, the newest text of each alone: a newer text ends the work on an older
one. Problems of the sentences come first, then those of the balls; remedies are looked for in
another thread, once they are asked for. Every answer is about the text as it is when the answer is given. Nothing is
written: changes are proposed to the editor.
"""

import asyncio
import os
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import NamedTuple, TypeVar

from lsprotocol import types as t
from pygls import uris
from pygls.lsp.server import LanguageServer

from ...compiler.include import EditedLibrary, Library
from ...compiler.model.feeder import Profiles
from ...compiler.pipeline import Compiled, compile_read, compile_source, read_source
from ...compiler.progress import Overtaken, WhileWanted
from ...compiler.scripts import sourced
from ...compiler.service.balls import told_at
from ...compiler.service.layout import Heading, folds, outline, painted
from ...compiler.service.script import NamePlace, Script, opened, renamed
from ...compiler.service.telling import Problem, carried, problems
from ...compiler.service.writing import offers
from ...grammar import syntax as s
from ...grammar.edits import Edit
from ...grammar.finding import Finding, Severity
from ...grammar.format import formatted
from ...grammar.source import Source, Span
from ...programs import ScriptShelf
from ..machine.feeders import ProfileShelf
from .positions import Positions

GRADES = {
    Severity.ERROR: t.DiagnosticSeverity.Error,
    Severity.WARNING: t.DiagnosticSeverity.Warning,
    Severity.NOTE: t.DiagnosticSeverity.Information,
}
OFFERS = {
    "word": t.CompletionItemKind.Keyword, "unit": t.CompletionItemKind.Unit, "name": t.CompletionItemKind.Variable,
}  # fmt: skip
COLOURS = {
    "word": "keyword", "made": "class", "name": "variable", "number": "number", "unit": "type", "title": "string",
    "comment": "comment",
}  # fmt: skip
E = TypeVar("E", bound="Editor")
SYMBOLS = {
    "program": t.SymbolKind.Module, "zone": t.SymbolKind.Field, "variation": t.SymbolKind.Interface,
    "feed": t.SymbolKind.Function, "point": t.SymbolKind.Function,
    "session": t.SymbolKind.Event,
}  # fmt: skip


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
        self._busy, self._looking = asyncio.Lock(), asyncio.Lock()
        self._changes: dict[str, int] = {}
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
        return sourced(name, self.workspace.get_text_document(uri).source)

    def positions(self, text: str) -> Positions:
        return Positions(text, self.workspace.position_codec.client_num_units)

    def library(self, uri: str) -> Library:
        """The scripts beside one, as they are in the editor where they are open there."""
        folder = self.folder(uri)
        found: Library = ScriptShelf(folder)
        for other in self.workspace.text_documents:
            if other != uri and self.folder(other) == folder:
                found = EditedLibrary(found, self.source(other))
        return found

    def profiles(self, uri: str) -> Profiles:
        return ProfileShelf(self.folder(uri))

    def script(self, uri: str) -> Script:
        """Read once for each text; one that uses others each time, since they may have changed."""
        source, known = self.source(uri), self._scripts.get(uri)
        if known is None or known.source != source or any(known.tree.of(s.Use)):
            known = self._scripts[uri] = opened(source, self.library(uri))
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
        async with self._busy:
            while (known := self._judged.get(uri)) is None or known.text != self.source(uri).text:
                with suppress(Overtaken):
                    self._judged[uri] = await self._compiled(uri)
            return known

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
        async with self._looking:
            judged = await self.judged(uri)
            known = self._mended.get(uri)
            if not judged.problems or (known and known.text == judged.text):
                return judged if known is None or known.text != judged.text else known
            source, wanted = self.source(uri), self._wanted(uri)
            look = partial(compile_source, source, self.profiles(uri), self.library(uri), plan=False,
                           progress=wanted, trials=wanted)  # fmt: skip
            try:
                compiled = await asyncio.get_running_loop().run_in_executor(self._aside, look)
            except Exception:  # overtaken, or a fault, as above
                return judged
            found = judged._replace(problems=problems(compiled.findings, source))
            if [one.text for one in found.problems] != [one.text for one in judged.problems]:
                self.publish(uri, judged.text, found.problems)  # that there is no remedy may be said too
            self._mended[uri] = found
            return found

    def _wanted(self, uri: str) -> WhileWanted:
        """Until the text changes."""
        count = self._changes.get(uri)
        return WhileWanted(lambda: self._changes.get(uri) == count)

    async def tell(self, uri: str) -> None:
        """Publish the problems of a text that was opened or changed."""
        judged = await self.judged(uri)
        self._tell(uri, judged.text, judged.problems)

    def _tell(self, uri: str, text: str, found: tuple[Problem, ...]) -> None:
        """All problems of a text, once: as soon as they are known, before its plan is made."""
        if uri not in self._settled and self.publish(uri, text, found):
            self._settled.add(uri)
            self.told(uri)

    def publish(self, uri: str, text: str, found: tuple[Problem, ...]) -> bool:
        """False if the text has changed since."""
        if uri not in self.workspace.text_documents or self.source(uri).text != text:
            return False
        version = self.workspace.get_text_document(uri).version
        if self._published.get(uri) == (version, found):
            return True  # what is wrong with the sentences may be all
        self._published[uri] = version, found
        at = self.positions(text)
        told = [_diagnostic(problem, at) for problem in found]
        self.text_document_publish_diagnostics(t.PublishDiagnosticsParams(uri, told, version))
        return True

    def told(self, uri: str) -> None:
        """All problems of the present text are published."""

    def typed(self, uri: str) -> None:
        """A text was opened or changed."""
        self._changes[uri] = self._changes.get(uri, 0) + 1
        self._settled.discard(uri)
        self._published.pop(uri, None)

    def forget(self, uri: str) -> None:
        self._changes.pop(uri, None)
        self._scripts.pop(uri, None)
        self._settled.discard(uri)
        self._judged.pop(uri, None)
        self._mended.pop(uri, None)
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


def _diagnostic(problem: Problem, at: Positions) -> t.Diagnostic:
    return t.Diagnostic(
        at.range(problem.span), problem.text, GRADES[problem.severity], code=problem.code, source="feedwright"
    )


def editor(version: str) -> Editor:
    """A server with everything that it answers."""
    return answering(Editor(version))


def answering(server: E) -> E:
    """The server, with a function for each request."""

    @server.feature(t.TEXT_DOCUMENT_DID_OPEN)
    async def opens(params: t.DidOpenTextDocumentParams) -> None:
        server.typed(params.text_document.uri)
        await server.tell(params.text_document.uri)

    @server.feature(t.TEXT_DOCUMENT_DID_CHANGE)
    async def changes(params: t.DidChangeTextDocumentParams) -> None:
        server.typed(params.text_document.uri)
        await server.tell(params.text_document.uri)

    @server.feature(t.TEXT_DOCUMENT_DID_CLOSE)
    def closes(params: t.DidCloseTextDocumentParams) -> None:
        server.forget(params.text_document.uri)

    @server.feature(t.TEXT_DOCUMENT_CODE_ACTION, t.CodeActionOptions([t.CodeActionKind.QuickFix]))
    async def mends(params: t.CodeActionParams) -> list[t.CodeAction]:
        uri = params.text_document.uri
        judged = await server.mended(uri)
        at = server.positions(judged.text)
        start, end = at.place(params.range.start), at.place(params.range.end)
        found = []
        for problem in judged.problems:
            for mending in problem.mendings if problem.span.start <= end and start <= problem.span.end else ():
                if change := server.change(uri, (mending.edit,)):
                    title, told = f"Write: {mending.makes}", [_diagnostic(problem, at)]
                    found.append(t.CodeAction(title, t.CodeActionKind.QuickFix, told, edit=change))
        return found

    @server.feature(t.TEXT_DOCUMENT_COMPLETION, t.CompletionOptions(trigger_characters=[" "]))
    def offer(params: t.CompletionParams) -> list[t.CompletionItem]:
        uri = params.text_document.uri
        script, at = server.script(uri), server.positions(server.source(uri).text)
        return [
            t.CompletionItem(
                found.text, kind=OFFERS[found.sort], detail=found.detail or None,
                text_edit=t.TextEdit(t.Range(at.position(found.start), at.position(found.end)), found.text),
            )
            for found in offers(script, at.place(params.position), server.profiles(uri))
        ]  # fmt: skip

    @server.feature(t.TEXT_DOCUMENT_HOVER)
    async def says(params: t.HoverParams) -> t.Hover | None:
        uri = params.text_document.uri
        compiled = (await server.judged(uri)).compiled
        script, at = server.script(uri), server.positions(server.source(uri).text)
        place = at.place(params.position)
        name = script.name_at(place)
        made = script.made(name) if name else None
        lines = [made.span.source.line_of(made.span.start)[2].strip()] if made else []
        lines += told_at(script, compiled, place)
        if not lines:
            return None
        return t.Hover(t.MarkupContent(t.MarkupKind.PlainText, "\n".join(lines)), at.range(name.span) if name else None)

    @server.feature(t.TEXT_DOCUMENT_DEFINITION)
    def made(params: t.DefinitionParams) -> t.Location | None:
        uri = params.text_document.uri
        script = server.script(uri)
        name = script.name_at(server.positions(script.source.text).place(params.position))
        there = script.made(name) if name else None
        return server.location(uri, there) if there else None

    @server.feature(t.TEXT_DOCUMENT_REFERENCES)
    def used(params: t.ReferenceParams) -> list[t.Location]:
        uri = params.text_document.uri
        script = server.script(uri)
        name = script.name_at(server.positions(script.source.text).place(params.position))
        places = (place for place in (script.same(name) if name else ()))
        wanted = (place for place in places if params.context.include_declaration or not place.made)
        return [there for place in wanted if (there := server.location(uri, place))]

    @server.feature(t.TEXT_DOCUMENT_RENAME)
    def renames(params: t.RenameParams) -> t.WorkspaceEdit | None:
        uri = params.text_document.uri
        script = server.script(uri)
        place = server.positions(script.source.text).place(params.position)
        edits = renamed(script, place, params.new_name)
        return server.change(uri, edits) if edits else None

    @server.feature(t.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def symbols(params: t.DocumentSymbolParams) -> list[t.DocumentSymbol]:
        script = server.script(params.text_document.uri)
        at = server.positions(script.source.text)
        return [_symbol(heading, at) for heading in outline(script)]

    @server.feature(t.TEXT_DOCUMENT_FOLDING_RANGE)
    def folded(params: t.FoldingRangeParams) -> list[t.FoldingRange]:
        return [t.FoldingRange(first - 1, last - 1) for first, last in folds(server.script(params.text_document.uri))]

    @server.feature(
        t.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, t.SemanticTokensLegend(list(dict.fromkeys(COLOURS.values())), [])
    )
    def colours(params: t.SemanticTokensParams) -> t.SemanticTokens:
        script = server.script(params.text_document.uri)
        at, legend = server.positions(script.source.text), list(dict.fromkeys(COLOURS.values()))
        data, before = [], t.Position(0, 0)
        for word in painted(script):
            span = at.range(word.span)
            line = span.start.line - before.line
            column = span.start.character - (0 if line else before.character)
            length = span.end.character - span.start.character
            data += [line, column, length, legend.index(COLOURS[word.sort]), 0]
            before = span.start
        return t.SemanticTokens(data)

    @server.feature(t.TEXT_DOCUMENT_FORMATTING)
    def forms(params: t.DocumentFormattingParams) -> list[t.TextEdit]:
        source = server.source(params.text_document.uri)
        text, _ = formatted(source)
        return [] if text == source.text else [t.TextEdit(server.positions(source.text).whole, text)]

    return server


def _symbol(heading: Heading, at: Positions) -> t.DocumentSymbol:
    return t.DocumentSymbol(
        heading.name, SYMBOLS.get(heading.kind, t.SymbolKind.Array), at.range(heading.whole), at.range(heading.span),
        detail=heading.kind, children=[_symbol(under, at) for under in heading.under],
    )  # fmt: skip
