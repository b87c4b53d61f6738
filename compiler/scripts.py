"""Reads scripts from files and writes them back, whole or not at all."""

import contextlib
import os
import stat
import sys
from pathlib import Path

from ..grammar.source import Source

LARGEST = 256 * 1024


class Refusal(Exception):
    """Wrong usage or files, in one sentence."""


def read_script(name: str) -> Source:
    """The script, read once, its line ends as LF; Refusal if it is not a readable text of a sensible size."""
    return script(name, read_bytes(name))


def script(name: str, data: bytes) -> Source:
    """The script of that name, its line ends as LF; Refusal if the bytes are empty or not text."""
    text = decoded(name, data)
    if not text.strip():
        raise Refusal(f"{name} is empty")
    return sourced(name, text)


def sourced(name: str, text: str) -> Source:
    """A script by a name that any document can hold, though the system's own need not be UTF-8; line ends as LF."""
    called = name.encode("utf-8", "backslashreplace").decode()
    return Source(called, text.replace("\r\n", "\n").replace("\r", "\n"))


def read_bytes(name: str, most: int = LARGEST) -> bytes:
    """What the file holds, read once; `-` is standard input. Refusal if it is not a file or is larger than `most`."""
    try:
        if name == "-":
            data = sys.stdin.buffer.read(most + 1)
        else:
            path = Path(name)
            if path.is_dir():
                raise Refusal(f"{name} is a folder, not a script")
            if path.exists() and not path.is_file():
                raise Refusal(f"{name} is not an ordinary file")
            with path.open("rb") as stream:
                data = stream.read(most + 1)
    except OSError as error:
        raise Refusal(f"cannot read {name}: {error.strerror or error}") from error
    except ValueError as error:
        raise Refusal(f"cannot read {name}: {error}") from error
    if len(data) > most:
        raise Refusal(f"{name} is larger than {most // 1024} KB; no script needs so much")
    return data


def decoded(name: str, data: bytes) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Refusal(f"{name} is not UTF-8 text: line {line} holds a byte that cannot be read") from error
    if "\0" in text:
        raise Refusal(
            f"{name} holds a NUL character in line {text[: text.index(chr(0))].count(chr(10)) + 1}; it is not text"
        )
    return text


def write_whole(name: str, data: bytes) -> None:
    """Replaces the file's content with `data`, through a new file beside it; Refusal leaves the old one as it was."""
    temporary = None
    try:
        path = Path(name).resolve(strict=True)  # a link stays a link
        temporary = path.with_name(f".{os.urandom(6).hex()}.new.{path.name}")
        mode = stat.S_IMODE(path.stat().st_mode)
        with open(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(mode)
        os.replace(temporary, path)
    except OSError as error:
        raise Refusal(f"cannot write {name}: {error.strerror or error}; the file is unchanged") from error
    finally:
        if temporary:
            with contextlib.suppress(OSError):
                temporary.unlink()


def write_new(name: str, text: str) -> None:
    """Writes a new file; Refusal if the name is taken."""
    try:
        with open(name, "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError as error:
        raise Refusal(f"{name} already exists and stays unchanged; choose another name") from error
    except (OSError, ValueError) as error:
        raise Refusal(f"cannot write {name}: {getattr(error, 'strerror', None) or error}") from error
