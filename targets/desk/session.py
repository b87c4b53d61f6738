"""The language server of one open page: the answers of any editor, and with them the file, its draft and the picture.

A page may speak of its one script alone; it can neither stop the process nor reach a machine.
"""

import asyncio
import json
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

from lsprotocol import types as t
from pygls import uris

from ...compiler.include import Library
from ...compiler.model.feeder import Feeder, ProfileProblem, Profiles
from ...compiler.model.program import Program
from ...compiler.pipeline import Compiled, compile_source
from ...compiler.scripts import Refusal
from ...compiler.service.alone import alone
from ...compiler.service.alone import played as played_in
from ...compiler.service.balls import feed_at, made_at, speaks_of
from ...compiler.service.blanks import BlankProblem, choices
from ...compiler.service.moving import MOVES, moved
from ...compiler.service.script import Script
from ...compiler.starter import Answers, first_script
from ...grammar.edits import Edit
from ...grammar.finding import Severity
from ...grammar.source import Source
from ...programs import ScriptShelf
from ..editor.answers import answering
from ..editor.server import Editor
from ..editor.texts import OpenText
from ..machine.feeders import ProfileShelf
from ..outputs.sheet.html import render
from ..outputs.sheet.layout import document
from .beginnings import FORMS, answered, beginnings, begun, held_by, program_text
from .pictures import BallPicture, PlayedSession, among, balls_of, feed_of, feeds_of, picture, played
from .script_file import ScriptFile
from .trying import around, ball_alone, tried

LOOK_S = 0.5
"""How often the file is looked at, for what other programs write."""
FARTHEST_M = 30.0
"""How far a ball may be dragged at once: more than a court and its run-off."""
MAY = {
    "initialize", "initialized", "$/cancelRequest", "$/setTrace", "textDocument/didOpen", "textDocument/didChange",
    "textDocument/didClose", "textDocument/codeAction", "textDocument/completion", "textDocument/hover",
    "textDocument/definition", "textDocument/references", "textDocument/rename", "textDocument/documentSymbol",
    "textDocument/foldingRange", "textDocument/semanticTokens/full", "textDocument/formatting", "desk/open",
    "desk/save", "desk/keep", "desk/picture", "desk/play", "desk/move", "desk/beginnings", "desk/begin", "desk/blanks",
    "desk/add", "desk/try",
}  # fmt: skip


class PageSession(Editor):
    def __init__(self, version: str, file: ScriptFile, worker: ThreadPoolExecutor) -> None:
        super().__init__(version, plans=True, worker=worker)
        self.file = file
        self.uri = str(uris.from_fs_path(str(file.path)))
        self._good: Compiled | None = None
        self._saved: str | None = None
        self._told: str | None = None
        self._keeping: asyncio.Task[None] | None = None
        self._kept: str | None = None
        self._tried = self._drawn = 0

    # ---- one folder, and no links out of it

    def folder(self, uri: str) -> Path | None:
        return self.file.folder if uri == self.uri else super().folder(uri)

    def library(self, uri: str) -> Library:
        return ScriptShelf(self.file.folder)

    def profiles(self, uri: str) -> Profiles:
        return OwnProfiles(self.file.folder)

    def change(self, uri: str, edits: tuple[Edit, ...]) -> t.WorkspaceEdit | None:
        """None too if another file would have to change: the page writes its own alone."""
        made = super().change(uri, edits)
        return made if made and set(made.changes or {}) <= {self.uri} else None

    # ---- what a page may say

    def admits(self, message: object) -> bool:
        """Is it a message that this page may send: of a kind that it needs, about its own script?"""
        if not isinstance(message, Mapping):
            return False
        if "method" not in message:
            return "id" in message  # an answer
        params = message.get("params")
        about = params.get("textDocument") if isinstance(params, Mapping) else None
        named = about.get("uri") if isinstance(about, Mapping) else self.uri
        return message["method"] in MAY and named == self.uri

    def take(self, data: str | bytes) -> bool:
        """Answers one message; False if it is none that a page sends."""
        try:
            if not self.admits(json.loads(data)):
                return False
            self.protocol.handle_message(json.loads(data, object_hook=self.protocol.structure_message))
        except Exception:  # no JSON, nested too deeply, or parameters of another shape: it has no answer
            return False
        return True

    def text(self) -> str | None:
        return self.source(self.uri).text if self.open_text(self.uri) else None

    # ---- the file

    def opened(self) -> dict[str, Any]:
        """The script as it was left: what was typed last, else the file, else a first practice."""
        self._saved = self.file.read()
        draft = self.file.draft()
        fresh = self._saved if self._saved is not None else first_script(Answers())
        text = fresh if draft is None else draft
        return {"uri": self.uri, "name": self.file.name, "text": text, "saved": text == self._saved,
                "unnamed": self.file.unnamed and self._saved is None,
                "back": draft is not None and draft != self._saved}  # fmt: skip

    def save(self, name: object) -> dict[str, Any]:
        """Writes the file; a first save may name it."""
        text = self.text()
        if text is None:
            return {"problem": "nothing is open"}
        try:
            if isinstance(name, str) and self.file.unnamed and self._saved is None:
                self.file.call(name)
            if not self.file.save(text):
                return self._outside()
        except Refusal as refusal:
            return {"problem": str(refusal)}
        self._saved = text
        return {"saved": True, "name": self.file.name}

    def _outside(self) -> dict[str, Any]:
        with suppress(Refusal):
            other = ScriptFile(self.file.folder, self.file.name).read()
            return {"changed": True, "text": other}
        return {"changed": True, "text": None}

    async def watch(self) -> None:
        """Tells when another program changes the file, once for each state."""
        while True:
            await asyncio.sleep(LOOK_S)
            if self.text() is None or not self.file.changed():
                self._told = None
                continue
            told = self._outside()
            if (state := json.dumps(told)) != self._told:
                self._told = state
                self.protocol.notify("desk/changed", told)

    def told(self, uri: str) -> None:
        text = self.open_text(uri)
        self.protocol.notify("desk/judged", {"version": text.version if text else None})

    def typed(self, uri: str, text: OpenText) -> None:
        """Keep what was typed, at once: nobody knows when the power goes."""
        super().typed(uri, text)
        if self._keeping is None or self._keeping.done():
            self._keeping = asyncio.get_running_loop().create_task(self._keep())

    async def _keep(self) -> None:
        """One write at a time, always of the newest text; a disk may be slow, and nothing waits for it."""
        while (text := self.text()) is not None and text != self._kept:
            self._kept = text
            if text != self._saved:
                await asyncio.get_running_loop().run_in_executor(None, self.file.remember, text)
        if self.text() == self._saved:
            self.file.forget()

    async def kept(self) -> None:
        """What was typed last is kept."""
        if self._keeping:
            await self._keeping

    # ---- the picture

    async def picture(self, place: t.Position | None, wanted: str | None) -> dict[str, Any]:
        """The ball at a place of the text, or by its name; of the last text without errors, maybe an older one."""
        self._drawn += 1
        mine = self._drawn
        judged = await self.judged(self.uri)
        if mine != self._drawn:
            return {"late": True}  # the page has asked for another one
        if judged.compiled and judged.compiled.plan:
            self._good = judged.compiled
        script = self.script(self.uri)
        if self._good and not speaks_of(script, feeds_of(self._good)):
            self._good = None  # another practice has begun
        at = self.positions(script.source.text)
        asked = wanted if place is None else feed_at(script, at.place(place)) or wanted
        if asked and wanted and place is not None and self._good and wanted in balls_of(self._good, asked):
            asked = wanted  # the ball of this feed that was chosen stays
        loop = asyncio.get_running_loop()
        good = self._good
        old = behind = good is None or good.source.text != script.source.text

        def drawn() -> BallPicture | None:
            return picture(good, asked) if good and mine == self._drawn else None

        made = await loop.run_in_executor(self.worker, drawn) if good else None
        if mine != self._drawn:
            return {"late": True}
        said = None
        if asked and (old or not made or asked not in (made["ball"], feed_of(made))):
            single = await self._alone(script, asked)
            if single:
                said = "errors" if played_in(script, asked) else "unplayed"
                made, old = among(script, single, made), False
        lacks = asked if asked and said is None and made_at(script, asked) is not None else None
        if made is None:
            return {"picture": None, "missing": lacks}
        if lacks in (made["ball"], *(ball["feed"] for ball in made["balls"])):
            lacks = None
        feeds = {ball["feed"] for ball in made["balls"]}
        lines = {feed: at.position(where).line for feed in feeds if (where := made_at(script, feed)) is not None}
        return {"picture": made, "old": old, "behind": behind, "alone": said, "lines": lines, "missing": lacks}

    async def _alone(self, script: Script, feed: str) -> BallPicture | None:
        """The feed's ball by itself, whatever is wrong with the rest; None if it cannot be worked out."""
        source = alone(script, feed)
        if source is None:
            return None
        profiles, library = self.profiles(self.uri), self.library(self.uri)

        def drawn(source: Source) -> BallPicture | None:
            return picture(compile_source(source, profiles, library, remedies=False), feed, lettered=False)

        try:
            return await asyncio.get_running_loop().run_in_executor(self.worker, drawn, source)
        except Exception:  # a fault of the compiler is told with the script's problems
            return None

    async def play(self) -> PlayedSession | None:
        """The session of the present text, to be played ball by ball; None while it has errors."""
        compiled = (await self.judged(self.uri)).compiled
        plan = compiled.plan if compiled else None
        return await asyncio.get_running_loop().run_in_executor(self.worker, played, plan) if plan else None

    async def move(self, ball: str, by: Mapping[str, float]) -> list[t.TextEdit]:
        """The edits that move a ball; none while the picture is older than the text."""
        compiled = (await self.judged(self.uri)).compiled
        program = compiled.program if compiled else None
        if compiled is None or program is None or compiled.source.text != self.text():
            return []
        made = self.change(self.uri, moved(program, ball, by))
        return list((made.changes or {}).get(self.uri, ())) if made else []

    async def program(self) -> Program | None:
        """What the present text says, as far as it can be read."""
        compiled = (await self.judged(self.uri)).compiled
        return compiled.program if compiled else None

    async def try_ball(self, what: object, said: object) -> dict[str, Any]:
        """What the ball of a form does; nothing if another one is asked for meanwhile."""
        self._tried += 1
        script, mine, library = self.script(self.uri), self._tried, self.library(self.uri)
        try:
            found = ball_alone(script, str(what), said, library)
        except BlankProblem as problem:
            return {"problem": str(problem)}
        if found is None:
            return {}
        work = partial(tried, *found, self.profiles(self.uri), library, lambda: mine == self._tried)
        try:
            return dict(await asyncio.get_running_loop().run_in_executor(self.worker, work) or {})
        except Exception:  # a fault of the compiler is told with the script's problems
            return {}

    def add(self, what: object, said: object) -> dict[str, Any]:
        """The edits that write a filled form, or why it cannot be written."""
        if not isinstance(what, str) or what not in FORMS:
            return {"problem": "no form writes this"}
        try:
            edits = FORMS[what](self.script(self.uri), said)
        except BlankProblem as problem:
            return {"problem": str(problem)}
        made = self.change(self.uri, edits)
        return {"edits": list((made.changes or {}).get(self.uri, ())) if made else []}

    async def sheet(self, large: bool) -> bytes | str:
        """The sheet of the present text as a page for paper, once it is worked out; else why there is none."""
        judged = await self.judged(self.uri)
        plan = judged.compiled.plan if judged.compiled else None
        if plan:
            paper = partial(render, document(plan, large=large))
            return await asyncio.get_running_loop().run_in_executor(self.worker, paper)
        wrong = [one for one in judged.problems if one.severity is Severity.ERROR]
        if not wrong:
            return "There is no sheet: these balls could not be worked out. Change a line, and try again."
        line, *_ = self.source(self.uri).line_of(wrong[0].span.start)
        many = f"{len(wrong)} errors; the first is" if len(wrong) > 1 else "an error"
        said, *_ = wrong[0].text.split("\n")
        told = f"There is no sheet yet: the script has {many} in line {line}."
        return f"{told}\n\n{said}\n\nMend it at the desk, then open the sheet again."


class OwnProfiles(ProfileShelf):
    """Those of a folder, without links that lead out of it."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self._home = folder.resolve()

    def load(self, name: str) -> Feeder | None:
        if not (self._home / f"{name}.toml").resolve().is_relative_to(self._home):
            raise ProfileProblem("it is a link out of the folder")
        return super().load(name)


def session(version: str, file: ScriptFile, worker: ThreadPoolExecutor) -> PageSession:
    """The server of one page, with everything that it answers."""
    server = answering(PageSession(version, file, worker))

    @server.feature("desk/open")
    def opens(params: Any) -> dict[str, Any]:
        try:
            return server.opened()
        except Refusal as refusal:
            return {"problem": str(refusal)}

    @server.feature("desk/save")
    def saves(params: Any) -> dict[str, Any]:
        return server.save(getattr(params, "name", None))

    @server.feature("desk/keep")
    def keeps(params: Any) -> None:
        server.file.keep()

    @server.feature("desk/move")
    async def moves(params: Any) -> dict[str, Any]:
        wanted = {part: getattr(params.by, part, 0.0) for part in MOVES}
        by = {part: float(m) for part, m in wanted.items() if isinstance(m, int | float) and abs(m) < FARTHEST_M}
        return {"edits": await server.move(str(params.ball), by)}

    @server.feature("desk/beginnings")
    def begins(params: Any) -> dict[str, Any]:
        return beginnings()

    @server.feature("desk/blanks")
    async def offers(params: Any) -> dict[str, Any]:
        """What the blanks of a form may hold, and what they hold for a ball or a block of the script."""
        script = server.script(server.uri)
        try:
            held = held_by(script, *(getattr(params, part, None) for part in ("what", "name", "row")))
        except BlankProblem as problem:
            return {"problem": str(problem)}
        return {**choices(script), **around(await server.program()), **held}

    @server.feature("desk/try")
    async def tries(params: Any) -> dict[str, Any]:
        return await server.try_ball(getattr(params, "what", None), getattr(params, "blanks", None))

    @server.feature("desk/add")
    def adds(params: Any) -> dict[str, Any]:
        return server.add(getattr(params, "what", None), getattr(params, "blanks", None))

    @server.feature("desk/begin")
    def writes(params: Any) -> dict[str, Any]:
        program = getattr(params, "program", None)
        try:
            return {"text": program_text(program) if isinstance(program, str) else begun(answered(params))}
        except (Refusal, BlankProblem) as refusal:
            return {"problem": str(refusal)}

    @server.feature("desk/play")
    async def plays(params: Any) -> dict[str, Any]:
        return {"session": await server.play()}

    @server.feature("desk/picture")
    async def draws(params: Any) -> dict[str, Any]:
        place = getattr(params, "position", None)
        at = None if place is None else t.Position(int(place.line), int(place.character))
        wanted = getattr(params, "ball", None)
        return await server.picture(at, wanted if isinstance(wanted, str) else None)

    return server
