"""The only file that opens a port. An error becomes PortRefused while opening and LinkLost after that."""

import os
import stat
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, Protocol

from ..wire.frames import STOP
from .flow import LinkLost

BAUD = 115_200
"""The line protocol's speed; a machine with commands of its own may have another."""
WRITE_S = 0.25
"""Seconds that a port may accept no bytes; after that the bytes that wait are too late to send."""


class PortRefused(Exception):
    """A port that cannot be opened; the message is one sentence."""


class Link(Protocol):
    """A line, as the replay uses it. Read and write raise LinkLost once it is gone. Neither waits: bytes that a port
    does not accept yet are sent by later calls."""

    def read(self) -> bytes: ...
    def write(self, data: bytes) -> None: ...
    def close(self) -> None: ...


class SerialLink:
    def __init__(self, port: Any, name: str) -> None:
        self._port, self._name = port, name
        self._stops, self._begun, self._lines = b"", b"", deque[bytes]()
        """What the port has not accepted yet: stop bytes, which may stand anywhere, the rest of a line, whole lines."""
        self._taken_at = time.monotonic()

    def read(self) -> bytes:
        """The bytes that have arrived, without waiting; empty if there are none."""
        self._send()
        with self._whole("read"):
            waiting = self._port.in_waiting
            # Ask for one byte even if none wait: that is how a closed other end shows.
            return bytes(self._port.read(waiting or 1))

    def write(self, data: bytes) -> None:
        if data.strip(bytes([STOP])):
            self._lines.append(data)
        else:
            self._stops += data
        self._send()

    def _send(self) -> None:
        """Write what the port accepts. LinkLost if it has accepted nothing for WRITE_S: lines not begun are then
        dropped, because they would come too late; stop bytes never are."""
        with self._whole("written"):
            while owed := self._stops or self._begun or (self._lines[0] if self._lines else b""):
                taken = _taken(self._port, owed)
                if not taken:
                    break
                self._taken_at, rest = time.monotonic(), owed[taken:]
                if self._stops:
                    self._stops = rest
                else:
                    if not self._begun:
                        self._lines.popleft()
                    self._begun = rest
            else:
                self._taken_at = time.monotonic()
        if time.monotonic() - self._taken_at > WRITE_S:
            self._taken_at = time.monotonic()
            self._lines.clear()
            raise LinkLost(f"The line {self._name} accepts nothing: nothing could be written for {WRITE_S} s")

    def close(self) -> None:
        until = time.monotonic() + WRITE_S  # waiting is fine here at the end, and the last line may be a stop
        with suppress(LinkLost):
            while (self._stops or self._begun or self._lines) and time.monotonic() < until:
                self._send()
                time.sleep(0.005)
        try:
            self._port.close()
        except _lost_errors():
            pass

    @contextmanager
    def _whole(self, what: str) -> Iterator[None]:
        try:
            yield
        except _lost_errors() as error:
            raise LinkLost(f"The line {self._name} is gone; it could not be {what} ({_short(error)})") from error


def _taken(port: Any, data: bytes) -> int:
    """Write without pyserial, which waits or spins while there is no room. Returns the number of bytes accepted."""
    if os.name == "nt":  # no other way on Windows; it waits WRITE_S at most
        return int(port.write(data))
    try:
        return os.write(port.fileno(), data)
    except BlockingIOError:
        return 0


class Listened:
    """A link that keeps the first and the last bytes that arrived, so that an error can explain them."""

    KEPT = 400

    def __init__(self, link: Link) -> None:
        self._link, self.first, self.last = link, b"", b""

    def read(self) -> bytes:
        data = self._link.read()
        if data:
            self.first += data[: self.KEPT - len(self.first)]
            self.last = (self.last + data)[-self.KEPT :]
        return data

    def write(self, data: bytes) -> None:
        self._link.write(data)

    def close(self) -> None:
        self._link.close()


def open_link(name: str, baud: int = BAUD) -> SerialLink:
    """Open a port by its name, for this process alone; 8 data bits, no parity, 1 stop bit."""
    _judge(name)
    serial = _pyserial()
    port = serial.Serial()
    port.port, port.baudrate, port.timeout, port.write_timeout = name, baud, 0, WRITE_S
    port.exclusive = True
    try:
        port.open()
        port.reset_input_buffer()
    except _lost_errors() as error:
        port.close()
        raise PortRefused(_why_not(name, error)) from error
    return SerialLink(port, name)


def ports() -> list[tuple[str, str]]:
    """The names of the ports, each with its description."""
    _pyserial()
    from serial.tools.list_ports import comports

    return [(port.device, port.description or "") for port in sorted(comports(), key=lambda port: port.device)]


def _pyserial() -> Any:
    try:
        import serial
    except ImportError as error:  # pyserial picks its part for the system on import; some systems have none
        raise PortRefused("this system has no serial ports; --port simulated plays without one") from error
    return serial


def _judge(name: str) -> None:
    if "://" in name or "\0" in name:
        raise PortRefused(f"{name!r} is not a port of this computer")
    if os.name == "nt":
        return
    try:
        mode = os.stat(name).st_mode
    except OSError as error:
        if isinstance(error, FileNotFoundError):
            raise PortRefused(f"there is no port {name}; feedwright replay --list shows the ports") from error
        raise PortRefused(_why_not(name, error)) from error
    if stat.S_ISDIR(mode):
        raise PortRefused(f"{name} is a folder, not a port")
    if not stat.S_ISCHR(mode):
        raise PortRefused(f"{name} is a file, not a port")
    if _is_this_terminal(name):
        raise PortRefused(f"{name} is the terminal that this program runs in, not the port of a machine")


def _is_this_terminal(name: str) -> bool:
    """Compared by device, not by name: the one behind standard input, output or errors, or `/dev/tty`."""
    device = os.stat(name).st_rdev
    for here in (0, 1, 2, "/dev/tty"):
        with suppress(OSError):
            found = os.stat(here)
            if stat.S_ISCHR(found.st_mode) and found.st_rdev == device and (here == "/dev/tty" or os.isatty(here)):  # type: ignore[arg-type]
                return True
    return False


def _why_not(name: str, error: BaseException) -> str:
    number = getattr(error, "errno", None)
    text = str(error).lower()
    if isinstance(error, PermissionError) or number in (1, 13) or "permission denied" in text:
        return f"{name} may not be opened by this user; {_group(name)}"
    if number in (11, 16) or "lock" in text or "busy" in text:
        return f"{name} is busy: another program has it open, perhaps another replay"
    return f"{name} cannot be opened as a port ({_short(error)})"


def _group(name: str) -> str:
    try:
        import grp

        return f"its group is {grp.getgrgid(os.stat(name).st_gid).gr_name}, and only members may"
    except (ImportError, OSError, KeyError):
        return "another user or group owns it"


def _short(error: BaseException) -> str:
    return str(getattr(error, "strerror", None) or error or type(error).__name__).splitlines()[0][:100]


def _lost_errors() -> tuple[type[BaseException], ...]:
    """Every error that pyserial raises when the other end goes away, by call and platform."""
    from serial import SerialException

    try:
        from termios import error
    except ImportError:
        return (SerialException, OSError, TypeError, ValueError)
    return (SerialException, OSError, TypeError, ValueError, error)
