"""What an editor may ask of a script, each a call of the service whose answer becomes the protocol's."""

from typing import TypeVar

from lsprotocol import types as t

from ...compiler.service.balls import told_at
from ...compiler.service.layout import Heading, folds, outline, painted
from ...compiler.service.script import renamed
from ...compiler.service.writing import offers
from ...grammar.format import formatted
from .positions import Positions
from .server import Editor, diagnostic
from .texts import OpenText

OFFERS = {
    "word": t.CompletionItemKind.Keyword, "unit": t.CompletionItemKind.Unit, "name": t.CompletionItemKind.Variable,
}  # fmt: skip
COLOURS = {
    "word": "keyword", "made": "class", "name": "variable", "number": "number", "unit": "type", "title": "string",
    "comment": "comment",
}  # fmt: skip
SYMBOLS = {
    "program": t.SymbolKind.Module, "zone": t.SymbolKind.Field, "variation": t.SymbolKind.Interface,
    "feed": t.SymbolKind.Function, "point": t.SymbolKind.Function,
    "session": t.SymbolKind.Event,
}  # fmt: skip
E = TypeVar("E", bound=Editor)


def editor(version: str) -> Editor:
    """A server with everything that it answers."""
    return answering(Editor(version))


def answering(server: E) -> E:
    """The server, with a function for each request."""

    @server.feature(t.TEXT_DOCUMENT_DID_OPEN)
    def opens(params: t.DidOpenTextDocumentParams) -> None:
        server.typed(params.text_document.uri, OpenText(params.text_document.version, params.text_document.text))

    @server.feature(t.TEXT_DOCUMENT_DID_CHANGE)
    def changes(params: t.DidChangeTextDocumentParams) -> None:
        uri, version = params.text_document.uri, params.text_document.version
        if text := server.open_text(uri):
            server.typed(uri, text.after(version, params.content_changes, server.units))

    @server.feature(t.TEXT_DOCUMENT_DID_CLOSE)
    def closes(params: t.DidCloseTextDocumentParams) -> None:
        server.forget(params.text_document.uri)

    @server.feature(t.TEXT_DOCUMENT_CODE_ACTION, t.CodeActionOptions([t.CodeActionKind.QuickFix]))
    async def mends(params: t.CodeActionParams) -> list[t.CodeAction]:
        uri = params.text_document.uri
        judged = await server.mended(uri)
        if judged.text != server.source(uri).text:
            return []  # of a text that is no more
        at = server.positions(judged.text)
        start, end = at.place(params.range.start), at.place(params.range.end)
        found = []
        for problem in judged.problems:
            for mending in problem.mendings if problem.span.start <= end and start <= problem.span.end else ():
                if change := server.change(uri, (mending.edit,)):
                    title, told = f"Write: {mending.makes}", [diagnostic(problem, at)]
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
