"""Serves the page and its socket on the loopback address, in one process with the language server."""

import asyncio
import logging
import secrets
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from importlib.resources import files
from pathlib import Path

from pygls.io_ import WebSocketWriter
from websockets.asyncio.server import ServerConnection, serve
from websockets.datastructures import Headers
from websockets.exceptions import ConnectionClosed
from websockets.http11 import Request, Response

from .door import HOST, MOST_BYTES, MOST_CONNECTIONS, MOST_PAGES, PATIENCE_S, SOCKET, DeskDoor, opened
from .script_file import ScriptFile
from .session import PageSession, session

SERVED = {
    "": ("page/desk.html", "text/html; charset=utf-8"),
    "desk.css": ("page/desk.css", "text/css; charset=utf-8"),
    "desk.js": ("page/desk.min.js", "text/javascript; charset=utf-8"),
    "drawing.css": ("../outputs/show/drawing.css", "text/css; charset=utf-8"),
}
REASONS = {200: "OK", 403: "Forbidden", 404: "Not Found", 405: "Method Not Allowed", 503: "Service Unavailable"}
SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; base-uri 'none'"
TEXT, HTML = "text/plain; charset=utf-8", "text/html; charset=utf-8"
PAPER = {"paper": False, "paper-large": True}
"""The sheet, and whether it is in large print."""
HERE = files(__package__)


class Connection(ServerConnection):
    """One of few at once: the others are cut before they can ask."""

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        super().connection_made(transport)
        if len(self.server.handler_tasks) > MOST_CONNECTIONS:
            self.transport.abort()


class DeskServer:
    def __init__(self, folder: Path, name: str, version: str, unnamed: bool = False) -> None:
        self._folder, self._name, self._version, self._unnamed = folder, name, version, unnamed
        self._worker = ThreadPoolExecutor(1)
        self._door: DeskDoor | None = None
        self._pages: list[PageSession] = []

    async def run(self, port: int, ready: Callable[[str], None], stopped: asyncio.Event) -> None:
        """Serves until `stopped`; `ready` gets the address. OSError if the port cannot be had."""
        for name in ("pygls", "websockets"):  # a fault in what a page sends is no news for the terminal
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
        async with serve(
            self._talk, HOST, port, process_request=self._answer, create_connection=Connection, compression=None,
            max_size=MOST_BYTES, max_queue=16, open_timeout=PATIENCE_S, server_header=None, backlog=1024,
        ) as server:  # fmt: skip
            self._door = opened(next(iter(server.sockets)).getsockname()[1])
            ready(self._door.address)
            await stopped.wait()

    async def _answer(self, connection: ServerConnection, request: Request) -> Response | None:
        """The page's files, a refusal, or None for its socket."""
        assert self._door
        method = getattr(request, "method", "GET")
        refused = self._door.refusal(method, request.path, request.headers)
        if refused:
            return self._response(refused.status, refused.reason)
        name = self._door.asked(request.path)
        if name == SOCKET:
            return self._response(503, "too many pages are open") if len(self._pages) >= MOST_PAGES else None
        if name in PAPER and self._pages:
            paper = await self._pages[-1].sheet(PAPER[name])
            made = isinstance(paper, bytes)
            return self._response(200, paper, HTML if made else TEXT, styled=made)
        if name not in SERVED:
            return self._response(404, "there is nothing of this name")
        file, kind = SERVED[name]
        nonce = secrets.token_urlsafe(16)
        body = (HERE / file).read_bytes()
        return self._response(200, body.replace(b"{nonce}", nonce.encode()) if not name else body, kind, nonce)

    def _response(
        self,
        status: int,
        body: str | bytes,
        kind: str = "text/plain; charset=utf-8",
        nonce: str = "",
        styled: bool = False,
    ) -> Response:
        assert self._door
        data = body.encode() if isinstance(body, str) else body
        headers = Headers({"Content-Type": kind, "Content-Length": str(len(data)), "Connection": "close"})
        headers.update(self._door.headers(nonce or secrets.token_urlsafe(16)))
        if styled:  # the sheet has its style in itself, and no script
            del headers["Content-Security-Policy"]
            headers["Content-Security-Policy"] = SHEET_POLICY
        return Response(status, REASONS[status], headers, data)

    async def _talk(self, connection: ServerConnection) -> None:
        """One page, as long as it is open."""
        self._remember(*self._pages[-1:])  # a page that was opened again comes before the old one goes
        server = session(self._version, ScriptFile(self._folder, self._name, self._unnamed), self._worker)
        server.protocol.set_writer(WebSocketWriter(connection), include_headers=False)
        self._pages.append(server)
        watching = asyncio.create_task(server.watch())
        try:
            async for data in connection:
                if not server.take(data):
                    await connection.close(1008, "no page says this")
                    return
        except ConnectionClosed:
            pass
        finally:
            self._pages.remove(server)
            self._remember(server)
            watching.cancel()
            with suppress(Exception):
                await server.kept()

    def _remember(self, *pages: PageSession) -> None:
        """Which file a page has come to write."""
        for page in pages:
            self._name, self._unnamed = page.file.name, page.file.unnamed
