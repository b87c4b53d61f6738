"""The language server as an editor talks to it: a process, its standard input and output."""

import asyncio
import json
import re
import subprocess
import sys
from collections.abc import AsyncIterator
from itertools import count
from pathlib import Path

import pytest
import pytest_lsp
from lsprotocol import types as t
from pytest_lsp import ClientServerConfig, LanguageClient

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.telling import problems
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import OF_A_KIND
from ..whole import WHOLE

pytestmark = pytest.mark.asyncio(loop_scope="module")
FIRST = next(path for path in OF_A_KIND if path.stem.startswith("02")).read_text("utf-8")
SERVER = [sys.executable, "-m", "feedwright.targets.command.cli", "language-server"]
numbers = count()


@pytest_lsp.fixture(config=ClientServerConfig(server_command=SERVER), scope="module")
async def editor(lsp_client: LanguageClient) -> AsyncIterator[None]:
    params = t.InitializeParams(capabilities=pytest_lsp.client_capabilities("visual-studio-code"))
    await lsp_client.initialize_session(params)
    yield
    await lsp_client.shutdown_session()


def opened(editor: LanguageClient, text: str, name: str = "") -> str:
    uri = name if ":" in name else f"file:///nowhere/{name or f'p{next(numbers)}.feed'}"
    editor.text_document_did_open(t.DidOpenTextDocumentParams(t.TextDocumentItem(uri, "feed", 1, text)))
    return uri


async def told(editor: LanguageClient, uri: str) -> list[t.Diagnostic]:
    """The next problems that the server publishes of a script."""
    async with asyncio.timeout(60):
        while uri not in editor.diagnostics:
            await asyncio.sleep(0.01)
    return list(editor.diagnostics.pop(uri))


def changed(editor: LanguageClient, uri: str, version: int, *parts: t.TextDocumentContentChangeEvent) -> None:
    identity = t.VersionedTextDocumentIdentifier(version, uri)
    editor.text_document_did_change(t.DidChangeTextDocumentParams(identity, list(parts)))


def where(text: str, words: str, offset: int = 0) -> t.Position:
    before = text[: text.index(words) + offset]
    return t.Position(before.count("\n"), len(before.rpartition("\n")[2]))


def applied(text: str, edits: list[t.TextEdit]) -> str:
    rows = text.split("\n")
    starts = [sum(len(row) + 1 for row in rows[:i]) for i in range(len(rows))]
    for edit in sorted(edits, key=lambda edit: (-edit.range.start.line, -edit.range.start.character)):
        start, end = (starts[place.line] + place.character for place in (edit.range.start, edit.range.end))
        text = text[:start] + edit.new_text + text[end:]
    return text


def compiled(text: str) -> list[tuple[str, int]]:
    """Code and line from 0 of what the compiler finds."""
    source = Source("p.feed", text)
    found = compile_source(source, ProfileShelf(None), ScriptShelf(None), plan=False).findings
    return [(one.code, text.count("\n", 0, one.span.start)) for one in problems(found, source)]


BROKEN = {
    "as it is": FIRST,
    "a word wrong": FIRST.replace("depth", "dpeth", 1),
    "a name unknown": FIRST.replace("aims", "aims no-such-", 1),
    "into the net": FIRST.replace("over net", "over net", 1).replace("1 m over", "0.01 m over"),
    "no session": FIRST.partition("\nsession")[0],
    "empty": "",
}


@pytest.mark.parametrize("text", BROKEN.values(), ids=list(BROKEN))
async def test_problems_are_those_of_a_check(editor: LanguageClient, text: str) -> None:
    uri = opened(editor, text)
    found = await told(editor, uri)
    assert [(one.code, one.range.start.line) for one in found] == compiled(text)
    assert all(one.message.endswith((".", "?")) and one.source == "feedwright" for one in found)


@pytest.mark.parametrize("uri", ["file:///nowhere/my%20practice.feed", "file:///c%3A/Jos%C3%A9/a.feed", "untitled:a-1"])
async def test_a_script_has_any_name_that_an_address_can_hold(editor: LanguageClient, uri: str) -> None:
    """RFC 3986, 2.1: what an address may not hold is escaped."""
    found = await told(editor, opened(editor, "feed a\n    hieght 1 m", uri))
    assert [one.code for one in found] == ["program-missing", "unexpected-word"]


async def test_scripts_beside_one_are_those_of_the_editor(editor: LanguageClient) -> None:
    opened(editor, 'variation past "past"\n', "file:///two%20words/aims.feed")
    found = await told(editor, opened(editor, 'use "aims.feed"\nfeed a aims past\n', "file:///two%20words/a.feed"))
    assert "unknown-name" not in [one.code for one in found]


@pytest.mark.parametrize("path", OF_A_KIND if WHOLE else OF_A_KIND[1:2], ids=lambda path: path.stem)
async def test_an_included_program_has_no_errors_and_keeps_its_form(editor: LanguageClient, path: Path) -> None:
    text = path.read_text("utf-8")
    uri = opened(editor, text, path.name)
    found = await told(editor, uri)
    assert not [one for one in found if one.severity is t.DiagnosticSeverity.Error]
    identity = t.TextDocumentIdentifier(uri)
    options = t.FormattingOptions(tab_size=4, insert_spaces=True)
    assert not await editor.text_document_formatting_async(t.DocumentFormattingParams(identity, options))


async def test_a_remedy_is_an_action_that_mends(editor: LanguageClient) -> None:
    text = FIRST.replace("interval  ", "interval  0.7 s #", 1)
    uri = opened(editor, text)
    before = [one for one in await told(editor, uri) if one.code == "interval-short"]
    assert before
    context = t.CodeActionContext(diagnostics=before)
    identity = t.TextDocumentIdentifier(uri)
    actions = await editor.text_document_code_action_async(t.CodeActionParams(identity, before[0].range, context))
    assert actions
    action = next(
        one for one in actions
        if isinstance(one, t.CodeAction) and [of.code for of in one.diagnostics or ()] == ["interval-short"]
    )  # fmt: skip
    assert action.edit and action.edit.changes
    changed(editor, uri, 2, t.TextDocumentContentChangeWholeDocument(applied(text, list(action.edit.changes[uri]))))
    assert "interval-short" not in [one.code for one in await told(editor, uri)]


async def test_what_may_be_written_replaces_the_half_written_word(editor: LanguageClient) -> None:
    text = "feed a\n    height 1 m over n"
    uri = opened(editor, text)
    found = await editor.text_document_completion_async(
        t.CompletionParams(t.TextDocumentIdentifier(uri), where(text, "over n", 6))
    )
    assert isinstance(found, list)
    (one,) = found
    assert one.label == "over net" and isinstance(one.text_edit, t.TextEdit)
    assert applied(text, [one.text_edit]) == "feed a\n    height 1 m over net"


async def test_names_are_found_told_and_changed(editor: LanguageClient) -> None:
    text = 'variation past "past"\nfeed a aims past\nfeed b aims past, like a\n'
    uri = opened(editor, text)
    identity, place = t.TextDocumentIdentifier(uri), where(text, "aims past", 6)
    there = await editor.text_document_definition_async(t.DefinitionParams(identity, place))
    assert isinstance(there, t.Location) and there.range.start == where(text, "past")
    for declaration, number in ((True, 3), (False, 2)):
        used = t.ReferenceParams(t.ReferenceContext(declaration), identity, place)
        assert len(await editor.text_document_references_async(used) or ()) == number
    said = await editor.text_document_hover_async(t.HoverParams(identity, place))
    assert said and isinstance(said.contents, t.MarkupContent) and said.contents.value == 'variation past "past"'
    edit = await editor.text_document_rename_async(t.RenameParams(identity, place, "through"))
    assert edit and edit.changes
    expected = text.replace("past", "through").replace('"through"', '"past"')
    assert applied(text, list(edit.changes[uri])) == expected
    assert await editor.text_document_rename_async(t.RenameParams(identity, place, "2 words")) is None


async def test_a_feed_tells_what_its_ball_does(editor: LanguageClient) -> None:
    uri = opened(editor, FIRST)
    params = t.HoverParams(t.TextDocumentIdentifier(uri), where(FIRST, "like high", 6))
    said = await editor.text_document_hover_async(params)
    assert said and isinstance(said.contents, t.MarkupContent) and said.range
    line, ball = said.contents.value.split("\n")
    assert line == "feed high aims clear"
    assert re.match(r"A high: \d+ km/h; \d\.\d\d m over the net \(\d+% pass\); lands \d\.\d m from the net", ball)


async def test_outline_folds_and_colours(editor: LanguageClient) -> None:
    text = 'program "\U0001f3be"  # \u00e9\n\nfeed a\n    pace 80 km/h\n'
    uri = opened(editor, text)
    identity = t.TextDocumentIdentifier(uri)
    symbols = await editor.text_document_document_symbol_async(t.DocumentSymbolParams(identity))
    assert symbols and [one.name for one in symbols] == ['"\U0001f3be"', "a"]
    folds = await editor.text_document_folding_range_async(t.FoldingRangeParams(identity))
    assert folds and [(one.start_line, one.end_line) for one in folds] == [(2, 3)]
    colours = await editor.text_document_semantic_tokens_full_async(t.SemanticTokensParams(identity))
    assert colours
    told_at = [tuple(colours.data[i : i + 3]) for i in range(0, len(colours.data), 5)]
    # program, the title of four units, the comment; feed, its name; pace, number, unit
    assert told_at == [(0, 0, 7), (0, 8, 4), (0, 6, 3), (2, 0, 4), (0, 5, 1), (1, 4, 4), (0, 5, 2), (0, 3, 4)]


async def test_a_script_that_is_closed_has_no_problems_and_no_answers(editor: LanguageClient) -> None:
    uri = opened(editor, FIRST)
    editor.text_document_did_close(t.DidCloseTextDocumentParams(t.TextDocumentIdentifier(uri)))
    place = t.HoverParams(t.TextDocumentIdentifier(uri), where(FIRST, "like high", 6))
    assert await editor.text_document_hover_async(place) is None
    assert editor.diagnostics[uri] == ()


async def test_an_editor_that_ends_leaves_a_clean_end() -> None:
    """LSP 3.17, Exit: after a shutdown the code is 0."""
    asked: list[dict[str, object]] = [
        {"id": 1, "method": "initialize", "params": {"capabilities": {}, "processId": None, "rootUri": None}},
        {"id": 2, "method": "shutdown"}, {"method": "exit"},
    ]  # fmt: skip
    said = [json.dumps({"jsonrpc": "2.0", **one}) for one in asked]
    sent = "".join(f"Content-Length: {len(one)}\r\n\r\n{one}" for one in said)
    ended = subprocess.run(SERVER, input=sent.encode(), capture_output=True, timeout=60)
    assert (ended.returncode, ended.stderr) == (0, b"")
