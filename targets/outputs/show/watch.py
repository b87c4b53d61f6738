"""Serves the picture on the loopback address and notifies open pages when the script is saved."""

from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Condition, Event, Thread
from urllib.parse import parse_qs, urlsplit

from ....compiler.model.plan import Plan
from . import Paths, Replies, page

HOST = "127.0.0.1"
POLL_S = 0.15
HEARTBEAT_S = 10.0

State = tuple[Plan, Paths, Replies] | None
Build = Callable[[], tuple[State, str]]
"""Compile afresh: the plan with its flights, or None while errors stand, and the findings as text."""


class Watch:
    """The picture of a file, kept up to date. While the script has errors, the last good picture stays below them."""

    def __init__(self, path: Path, build: Build) -> None:
        self._path, self._build = path, build
        self._changed, self._stopped = Condition(), Event()
        self._seen, self._findings, self._old = 0, "", False
        self._good: State = None
        self._mark = self._stamp()
        self._refresh()

    def _stamp(self) -> tuple[tuple[str, int, int], ...]:
        """Names, times and sizes of the script and of the profiles beside it."""
        marks = []
        for path in sorted([self._path, *self._path.parent.glob("*.toml")]):
            try:
                state = path.stat()
            except OSError:  # between two steps of an editor's way of saving
                continue
            marks.append((path.name, state.st_mtime_ns, state.st_size))
        return tuple(marks)

    def _refresh(self) -> None:
        state, findings = self._build()
        with self._changed:
            self._good, self._old = state or self._good, state is None
            self._findings = findings
            self._seen += 1
            self._changed.notify_all()

    def poll(self) -> None:
        """Rebuilds when a file has changed and stays as it is for a moment, because an editor may save in pieces; until
        stopped."""
        before = self._mark
        while not self._stopped.wait(POLL_S):
            mark = self._stamp()
            if mark == before and mark != self._mark and mark:
                self._mark = mark
                self._refresh()
            before = mark

    def stop(self) -> None:
        self._stopped.set()
        with self._changed:
            self._changed.notify_all()

    def page(self) -> bytes:
        with self._changed:
            good, findings, seen, old = self._good, self._findings, self._seen, self._old
        if good is None:
            return page.only_findings(self._path.name, findings, seen)
        plan, paths, replies = good
        return page.render(plan, paths, findings, seen, replies, old)

    def newer(self, seen: int) -> bool:
        """Whether there is a state after `seen`; waits for one for a limited time."""
        with self._changed:
            self._changed.wait_for(lambda: self._seen > seen or self._stopped.is_set(), HEARTBEAT_S)
            return self._seen > seen

    @property
    def stopped(self) -> bool:
        return self._stopped.is_set()


def server(watch: Watch, port: int = 0) -> ThreadingHTTPServer:
    """A server bound to the loopback address alone; port 0 takes a free one. OSError comes through."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            if self.headers.get("Host") not in self._hosts():  # a foreign name that was pointed at this machine
                self.send_error(403)
                return
            parts = urlsplit(self.path)
            if parts.path == "/":
                self._send("text/html; charset=utf-8", watch.page())
            elif parts.path == "/favicon.ico":  # browsers ask by themselves; there is none
                self.send_response(204)
                self.end_headers()
            elif parts.path == "/changes":
                self._tell(parts.query)
            else:
                self.send_error(404)

        def _hosts(self) -> set[str]:
            number = made.server_port
            return {f"{HOST}:{number}", f"localhost:{number}"}

        def _send(self, kind: str, body: bytes) -> None:
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Cache-Control", "no-store")
            self.send_header("X-Content-Type-Options", "nosniff")
            self.end_headers()
            self.wfile.write(body)

        def _tell(self, query: str) -> None:
            """Server-sent events (WHATWG HTML): one when there is a newer state, comments meanwhile."""
            text = parse_qs(query).get("seen", ["0"])[0]
            seen = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
            self.send_response(200)
            self.send_header("Content-Type", "text/event-stream")
            self.send_header("Cache-Control", "no-store")
            self.end_headers()
            try:
                while not watch.stopped:
                    if watch.newer(seen):
                        self.wfile.write(b"event: change\ndata: \n\n")
                        return
                    self.wfile.write(b": nothing new\n\n")
                    self.wfile.flush()
            except (BrokenPipeError, ConnectionResetError):
                return  # the page was closed

        def log_message(self, *_: object) -> None:
            return

    made = ThreadingHTTPServer((HOST, port), Handler)
    made.daemon_threads = True
    return made


def run(watch: Watch, made: ThreadingHTTPServer) -> None:
    """Serve until interrupted."""
    poller = Thread(target=watch.poll, daemon=True)
    poller.start()
    try:
        made.serve_forever(poll_interval=0.2)
    finally:
        watch.stop()
        made.server_close()
