"""Who may come in: every request is judged before anything is made of it.

The desk listens on the loopback address, which every program and every page in the user's browser can reach. So a
request has to know the word of this desk's address, has to be sent to that address by the very name that the desk gave
out (a foreign name that was pointed at this machine, DNS rebinding, is another), and must not come from another page
(the Origin of the Fetch standard).
"""

import secrets
from collections.abc import Mapping, Sequence
from typing import NamedTuple, Protocol

HOST = "127.0.0.1"
SOCKET = "socket"
MOST_CONNECTIONS = 32
"""Open at once, those that have not asked for anything yet included: a page needs four."""
MOST_PAGES = 4
MOST_BYTES = 1024 * 1024
"""Of one message: the largest script, each of its characters written as six, takes less than twice that; nobody types
one."""
PATIENCE_S = 5.0
"""How long a connection may take to say what it wants."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'nonce-{nonce}'; connect-src {socket}; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


class Headers(Protocol):
    def get_all(self, key: str) -> Sequence[str]: ...


class Refused(NamedTuple):
    status: int
    reason: str


class DeskDoor(NamedTuple):
    port: int
    word: str

    @property
    def origin(self) -> str:
        return f"http://{HOST}:{self.port}"

    @property
    def address(self) -> str:
        return f"{self.origin}/{self.word}/"

    def refusal(self, method: str, path: str, headers: Headers) -> Refused | None:
        """Why a request may not come in; None if it may. A socket has to say where it comes from, and so has whatever
        says it at all."""
        if list(headers.get_all("Host")) != [f"{HOST}:{self.port}"]:
            return Refused(403, "another host was asked for")
        name = self.asked(path)
        origins = list(headers.get_all("Origin"))
        if origins != [self.origin] and (origins or name == SOCKET):
            return Refused(403, "another page asks")
        if name is None:
            return Refused(403, "the word is missing")
        if method != "GET":
            return Refused(405, "only GET is answered")
        return None

    def asked(self, path: str) -> str | None:
        """What is asked for, behind the word; None without the word."""
        empty, word, *rest = path.split("/", 2)
        known = secrets.compare_digest(word.encode("latin-1", "replace"), self.word.encode()) if rest else False
        return rest[0] if known and not empty else None

    def headers(self, nonce: str) -> Mapping[str, str]:
        """What every answer carries."""
        return {
            "Content-Security-Policy": POLICY.format(nonce=nonce, socket=f"ws://{HOST}:{self.port}"),
            "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store",
            "Cross-Origin-Resource-Policy": "same-origin", "Cross-Origin-Opener-Policy": "same-origin",
        }  # fmt: skip


def opened(port: int) -> DeskDoor:
    """A door with a word that nobody guesses: 32 random bytes."""
    return DeskDoor(port, secrets.token_urlsafe(32))
