"""Edits at random, near real scripts, and requests between them: the server holds what the editor holds and answers
about it. EDITS=10000 tries so many, from the seed SEED, and `-s` shows what they take."""

import asyncio
import os
import re
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

from lsprotocol import types as t
from pytest_lsp import LanguageClient, client_capabilities, make_test_lsp_client

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.scripts import sourced
from feedwright.compiler.service.telling import problems
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import OF_A_KIND, PROGRAMS
from ..whole import WHOLE

EDITS = int(os.environ.get("EDITS", "1000" if WHOLE else "15"))
SCRIPTS = PROGRAMS if EDITS > 100 else OF_A_KIND[:1]
STAY, SHOWN = 25, 500
"""So many edits of one script before the next is opened, and between two lines of figures."""
MOST_UNDONE = 5
"""A script with more slips than this is hardly judged any more; the newest are taken back."""
TYPED = (
    "", "a", " ", "\n", "\U0001f3be", '"', "#", "\t", "\r\n", "\u2028", "\f", "\xe9",
    "    side middle\n", "over net", "3 min ",
)  # fmt: skip
COOL_MB, FLAT_MB = 240, 30
"""By so much the server may grow in all, and in the last third of a long run beyond the most before it: what it keeps
of balls is bounded by `kept.MOST` of each kind, which some thousand edits fill."""


class Course:
    """A text as an editor holds it, with the slips that can be taken back."""

    def __init__(self, chance: Random) -> None:
        self.chance, self.text, self.undone = chance, "", list[str]()

    def open(self, text: str) -> str:
        self.text, self.undone = text, []
        return text

    def edit(self) -> list[t.TextDocumentContentChangeEvent]:
        """The next edit, as one change or as several."""
        if self.chance.random() < len(self.undone) / MOST_UNDONE:
            self.text = self.undone.pop()
            return [t.TextDocumentContentChangeWholeDocument(self.text)]
        self.undone.append(self.text)
        return [self._changed() for _ in range(self.chance.choice((1, 1, 1, 2)))]

    def _changed(self) -> t.TextDocumentContentChangePartial:
        start, end, new = self._slip()
        span = t.Range(position(self.text, start), position(self.text, end))
        self.text = self.text[:start] + new + self.text[end:]
        return t.TextDocumentContentChangePartial(span, new)

    def _slip(self) -> tuple[int, int, str]:
        """What is typed over a stretch of the text: signs, another amount, a word or a row from elsewhere."""
        chance, text = self.chance, self.text
        kind = chance.choice((r"", r"(?<![\w.])\d+(\.\d+)?", r"[A-Za-z][\w-]*", r"[^\n]*\n"))
        found = list(re.finditer(kind, text)) if kind else []
        if not found:
            start = chance.randint(0, len(text))
            return start, min(start + chance.choice((0, 0, 1, 3)), len(text)), chance.choice(TYPED)
        one, other = chance.choice(found), chance.choice(found)[0]
        match kind[0]:
            case "(":
                return *one.span(), f"{float(one[0]) * chance.choice((0.1, 0.5, 0.8, 0.9, 1.1, 1.5, 2, 10)):g}"
            case "[" if other.endswith("\n"):
                return (*one.span(), "") if chance.random() < 0.5 else (one.start(), one.start(), other)
        return *one.span(), other


def rows_of(text: str) -> list[str]:
    """Lines as LSP 3.17 counts them."""
    return re.split("\r\n|\n|\r", text)


def position(text: str, place: int) -> t.Position:
    *rows, row = rows_of(text[:place])
    return t.Position(len(rows), units(row))


def units(row: str) -> int:
    return len(row.encode("utf-16-le")) // 2


def compiled(text: str, name: str) -> list[tuple[str | int | None, t.Range]]:
    """Codes and places of what the compiler itself finds."""
    source = sourced(name, text)
    found = problems(
        compile_source(source, ProfileShelf(None), ScriptShelf(None), plan=False, remedies=False).findings, source
    )
    return [
        (one.code, t.Range(position(source.text, one.span.start), position(source.text, one.span.end))) for one in found
    ]


def ranges_in(answer: object) -> Iterator[t.Range]:
    """Every place that an answer names."""
    if isinstance(answer, t.Range):
        yield answer
    elif isinstance(answer, dict):
        for one in answer.values():
            yield from ranges_in(one)
    elif isinstance(answer, list | tuple):
        for one in answer:
            yield from ranges_in(one)
    elif hasattr(answer, "__attrs_attrs__"):
        for name in answer.__attrs_attrs__:
            yield from ranges_in(getattr(answer, name.name))


def there(text: str, span: t.Range) -> bool:
    rows = rows_of(text)
    ends = [(place.line, place.character) for place in (span.start, span.end)]
    return ends == sorted(ends) and all(line < len(rows) and column <= units(rows[line]) for line, column in ends)


def words_at(text: str, edits: list[t.TextEdit]) -> set[str]:
    rows = [row.encode("utf-16-le") for row in rows_of(text)]
    return {
        rows[span.start.line][2 * span.start.character : 2 * span.end.character].decode("utf-16-le")
        for span in (edit.range for edit in edits)
    }


async def ask(editor: LanguageClient, number: int, uri: str, at: t.Position, text: str) -> None:
    """One request, by turns, whose answer has to be about this text."""
    about = t.TextDocumentIdentifier(uri)
    asked: tuple[tuple[str, object], ...] = (
        ("textDocument/completion", t.CompletionParams(about, at)),
        ("textDocument/rename", t.RenameParams(about, at, "other")),
        ("textDocument/semanticTokens/full", t.SemanticTokensParams(about)),
        ("textDocument/documentSymbol", t.DocumentSymbolParams(about)),
        ("textDocument/codeAction", t.CodeActionParams(about, t.Range(at, at), t.CodeActionContext([]))),
        ("textDocument/references", t.ReferenceParams(t.ReferenceContext(True), about, at)),
        ("textDocument/definition", t.DefinitionParams(about, at)),
        ("textDocument/foldingRange", t.FoldingRangeParams(about)),
        ("textDocument/formatting", t.DocumentFormattingParams(about, t.FormattingOptions(4, True))),
    )
    method, params = asked[number % len(asked)]
    waiting = editor.protocol.send_request(method, params, msg_id=f"{method} {number}")
    if number % 4 == 0:  # the cursor has moved on
        editor.cancel_request(t.CancelParams(f"{method} {number}"))
        return
    async with asyncio.timeout(120):
        answer = await asyncio.wrap_future(waiting)
    mine = answer.changes and answer.changes.get(uri, []) if isinstance(answer, t.WorkspaceEdit) else answer
    if isinstance(answer, list) and answer and isinstance(answer[0], t.Location):
        mine = [one for one in answer if one.uri == uri]
    elif isinstance(answer, t.Location) and answer.uri != uri:
        mine = None
    assert all(there(text, span) for span in ranges_in(mine)), (method, at)
    if isinstance(answer, t.WorkspaceEdit) and mine:
        assert len(words_at(text, mine)) == 1, "one name is changed"
    if isinstance(answer, t.SemanticTokens):
        rows, line, column, end = rows_of(text), 0, 0, 0
        for down, right, length, *_ in zip(*[iter(answer.data)] * 5, strict=True):
            line, column, end = line + down, right if down else column + right, 0 if down else end
            assert end <= column and column + length <= units(rows[line])
            end = column + length


class Figures:
    """What the server has taken, where the system tells (Linux)."""

    def __init__(self, process: int) -> None:
        self._folder = Path(f"/proc/{process}")
        self.costs: list[float] = []
        self._before = self.seconds()

    def seconds(self) -> float:
        """Of CPU, so far."""
        threads = (self._folder / "task").glob("*/schedstat") if self._folder.exists() else ()
        return sum(int(one.read_text().split()[0]) for one in threads) / 1e9

    def megabytes(self) -> float:
        status = self._folder / "status"
        found = re.search(r"VmRSS:\s+(\d+)", status.read_text()) if status.exists() else None
        return int(found[1]) / 1024 if found else 0.0

    def judged(self, opened: bool = False) -> None:
        """All that edits ask for is answered, or all that a script asks for that was opened."""
        now = self.seconds()
        if not opened:
            self.costs.append(now - self._before)
        self._before = now

    def __str__(self) -> str:
        costs = sorted(self.costs)
        middle, high = (costs[int(len(costs) * share)] for share in (0.5, 0.95))
        return (
            f"{self.seconds():.0f} s of CPU, {self.megabytes():.0f} MB; up to three edits take {middle:.3f} s in the "
            f"middle, {high:.3f} s at 95 %, {costs[-1]:.3f} s at worst"
        )


async def judged(editor: LanguageClient, uri: str, at: t.Position) -> None:
    """Waits until the server has judged the text: to tell what a ball does it has to."""
    async with asyncio.timeout(120):
        await editor.text_document_hover_async(t.HoverParams(t.TextDocumentIdentifier(uri), at))


async def test_edits_at_random_and_requests_between_them_do_no_harm() -> None:
    chance = Random(int(os.environ.get("SEED", "11")))
    editor = make_test_lsp_client()
    await editor.start_io(sys.executable, "-m", "feedwright.targets.command.cli", "language-server")
    await editor.initialize_session(t.InitializeParams(capabilities=client_capabilities("visual-studio-code")))
    process = editor._server
    assert process
    figures, grown = Figures(process.pid), list[float]()
    course, uri, name = Course(chance), "", ""
    for number in range(EDITS):
        if number % STAY == 0:
            if uri:
                editor.text_document_did_close(t.DidCloseTextDocumentParams(t.TextDocumentIdentifier(uri)))
            script = chance.choice(SCRIPTS)
            name, text = f"{number} {script.name}", course.open(script.read_text("utf-8"))
            uri = f"file:///nowhere/{name.replace(' ', '%20')}"
            editor.text_document_did_open(t.DidOpenTextDocumentParams(t.TextDocumentItem(uri, "feed", number, text)))
            await judged(editor, uri, t.Position(0, 0))
            figures.judged(opened=True)
        identity = t.VersionedTextDocumentIdentifier(number + 1, uri)
        editor.text_document_did_change(t.DidChangeTextDocumentParams(identity, course.edit()))
        text = course.text
        at = position(text, chance.randint(0, len(text)))
        await ask(editor, number, uri, at, text)
        if number % 3 and number + 1 < EDITS:  # else the next edit comes at once
            continue
        await judged(editor, uri, at)
        figures.judged()
        assert [(one.code, one.range) for one in editor.diagnostics[uri]] == compiled(text, name), text
        grown.append(figures.megabytes())
        if number // SHOWN != (number - 3) // SHOWN:
            print(f"\n{time.strftime('%X')} after {number} edits: {figures}", end="", flush=True)
    print(f"\nafter {EDITS} edits: {figures}; {grown[0]:.0f} MB at first")
    assert not editor.messages and not editor.log_messages, "a fault is told so"
    assert max(grown) - grown[0] < COOL_MB
    late = len(grown) * 2 // 3
    assert EDITS < 5000 or max(grown[late:]) - max(grown[:late]) < FLAT_MB
    await editor.shutdown_session()
    await editor.stop()
