"""Fault cases of a real port, on a pseudo-terminal: one that is unplugged, full, busy, or none."""

import contextlib
import errno
import os
import pty
import stat
import threading
import time
import tty
from pathlib import Path
from types import SimpleNamespace

import pytest

from feedwright.targets.machine.replay import link as links
from feedwright.targets.machine.replay.flow import LinkLost


def opened() -> tuple[int, links.SerialLink]:
    master, slave = pty.openpty()
    tty.setraw(slave)
    link = links.open_link(os.ttyname(slave))
    os.close(slave)
    return master, link


def test_44_unplugged_in_read_write_and_wait() -> None:
    master, link = opened()
    assert link.read() == b""
    os.close(master)
    for act in (link.read, lambda: link.write(b"x" * 90), link.read):
        with pytest.raises(LinkLost, match="is gone"):
            act()
    link.close()
    link.close()


def test_44b_unplugged_from_another_thread_while_reading() -> None:
    master, link = opened()
    threading.Timer(0.2, lambda: os.close(master)).start()
    end = time.monotonic() + 30.0  # only so that a failure ends
    with pytest.raises(LinkLost):
        while time.monotonic() < end:
            link.read()
            time.sleep(0.001)
    link.close()


def test_a_full_buffer_holds_nobody_up_and_is_a_lost_link_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a time of the test's own, in which nothing can wait: while it stands still every line is taken, and the line
    is lost when the time for writing is over."""
    now = [100.0]
    monkeypatch.setattr(links, "time", SimpleNamespace(monotonic=lambda: now[0]))
    master, link = opened()
    for _ in range(2000):  # 180 kB, many times what a pseudo-terminal takes
        link.write(b"x" * 89 + b"\n")
    now[0] += links.WRITE_S + 0.001
    with pytest.raises(LinkLost, match="accepts nothing"):
        link.write(b"x\n")
    monkeypatch.undo()
    os.close(master)
    link.close()


def test_a_stop_goes_out_before_what_waits_and_no_late_line_after_it() -> None:
    master, link = opened()
    os.set_blocking(master, False)
    with pytest.raises(LinkLost, match="accepts nothing"):
        while True:
            link.write(b"x" * 89 + b"\n")
            time.sleep(0.001)
    link.write(b"\x07\x07\x07")
    link.write(b"last\n")
    heard, until = b"", time.monotonic() + 1.0
    while time.monotonic() < until:
        with contextlib.suppress(BlockingIOError):
            heard += os.read(master, 4096)
        link.read()
        time.sleep(0.001)
    before, stops, after = heard.partition(b"\x07\x07\x07")
    assert stops and set(before) == set(b"x\n")
    # The rest of the line that was cut, then what was written last; whole lines that waited are too late.
    assert (before + after).endswith(b"last\n") and after.count(b"\n") <= 2 and len(after) <= 90 + 5
    assert {len(line) for line in (before + after).split(b"\n")[:-2]} == {89}
    os.close(master)
    link.close()


def test_43_a_second_opener_is_refused() -> None:
    master, slave = pty.openpty()
    link = links.open_link(os.ttyname(slave))
    with pytest.raises(links.PortRefused, match="is busy: another program has it open"):
        links.open_link(os.ttyname(slave))
    link.close()
    os.close(master)
    os.close(slave)


def test_ports_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for name, said in (
        (str(tmp_path), "is a folder"), (str(tmp_path / "file"), "is a file"),
        (str(tmp_path / "none"), "there is no port"),
        ("socket://localhost:1", "is not a port of this computer"),
        ("/dev/null", "cannot be opened as a port"), ("a\0b", "is not a port"),
    ):  # fmt: skip
        with pytest.raises(links.PortRefused, match=said):
            links.open_link(name)


def test_a_port_of_windows_is_no_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its name, such as COM3, is found in no folder: whether it is there, opening it shows."""

    opened = []

    class Port:
        port = ""

        def open(self) -> None:
            opened.append(self.port)

        def reset_input_buffer(self) -> None: ...

    monkeypatch.setattr("serial.Serial", Port)
    with monkeypatch.context() as windows:
        windows.setattr(os, "name", "nt")
        links.open_link("COM3")
    assert opened == ["COM3"]


def test_a_port_without_permission_names_its_group(monkeypatch: pytest.MonkeyPatch) -> None:
    import grp

    import serial

    def refused(port: object) -> None:
        raise serial.SerialException(errno.EACCES, "could not open port: [Errno 13] Permission denied")

    monkeypatch.setattr(serial.Serial, "open", refused)
    group = grp.getgrgid(os.stat("/dev/null").st_gid).gr_name
    assert stat.S_ISCHR(os.stat("/dev/null").st_mode)
    with pytest.raises(links.PortRefused, match=f"its group is {group}"):
        links.open_link("/dev/null")
