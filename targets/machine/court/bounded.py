"""One HTTP request and one answer at a time (RFC 9112), each bounded in size and in time. What is not needed here, such
as chunked bodies, is refused."""

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass

MOST_HEAD, MOST_BODY = 8192, 8192
HEAD_S, BODY_S, WRITE_S = 30.0, 2.0, 3.0
"""How long the next request of an open connection, its body, and a reader that does not read may take."""
FIRST_S = 3.0
"""How long a new connection may take to ask for the first time."""
REASONS = {200: "OK", 400: "Bad Request", 403: "Forbidden", 404: "Not Found", 405: "Method Not Allowed",
           413: "Content Too Large", 421: "Misdirected Request", 429: "Too Many Requests",
           431: "Request Header Fields Too Large", 503: "Service Unavailable"}  # fmt: skip
SAFE = (
    "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'\r\n"
    "X-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\nCache-Control: no-store\r\n"
    "Cross-Origin-Resource-Policy: same-origin\r\n"
)


@dataclass(frozen=True, slots=True)
class WebRequest:
    method: str
    path: str
    headers: Mapping[str, str]
    """By name in lower case."""
    body: bytes


class Unacceptable(Exception):
    """A request that gets this status, and after which the connection ends."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


async def received(reader: asyncio.StreamReader, within_s: float) -> WebRequest | None:
    """The next request; None if the other end sends no more. The reader's limit bounds the head. TimeoutError if it
    takes too long."""
    try:
        async with asyncio.timeout(within_s):
            head = await reader.readuntil(b"\r\n\r\n")
        method, path, headers = _head(head)
        length = headers.get("content-length", "0")
        if "transfer-encoding" in headers or not (length.isascii() and length.isdigit() and len(length) < 10):
            raise Unacceptable(400)
        if int(length) > MOST_BODY:
            raise Unacceptable(413)
        async with asyncio.timeout(BODY_S):
            return WebRequest(method, path, headers, await reader.readexactly(int(length)))
    except asyncio.LimitOverrunError:
        raise Unacceptable(431) from None
    except asyncio.IncompleteReadError:
        return None


def _head(head: bytes) -> tuple[str, str, dict[str, str]]:
    first, *lines = head[:-4].decode("latin-1").split("\r\n")
    words = first.split(" ")
    if len(words) != 3 or words[2] not in ("HTTP/1.1", "HTTP/1.0") or not words[1].startswith("/"):
        raise Unacceptable(400)
    headers = dict[str, str]()
    for line in lines:
        name, colon, value = line.partition(":")
        name = name.lower()
        if not colon or not name or name != name.strip() or name in headers:
            raise Unacceptable(400)
        headers[name] = value.strip(" \t")
    return words[0], words[1], headers


def answer(status: int, body: bytes, kind: str, *, close: bool) -> bytes:
    """The bytes of an answer; `close`: whether the connection then ends."""
    head = (
        f"HTTP/1.1 {status} {REASONS[status]}\r\nContent-Type: {kind}; charset=utf-8\r\n"
        f"Content-Length: {len(body)}\r\n{SAFE}Connection: {'close' if close else 'keep-alive'}\r\n\r\n"
    )
    return head.encode("latin-1") + body


async def sent(writer: asyncio.StreamWriter, data: bytes) -> None:
    """Write all of it; TimeoutError if the other end does not read."""
    writer.write(data)
    async with asyncio.timeout(WRITE_S):
        await writer.drain()
