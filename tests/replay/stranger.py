"""A device as a stranger would write it with PROTOCOL.md open and nothing else: it shares no line with the rest.

The clock is handed in as the device's own ms. It keeps every rule of the page unless a subclass or a switch of `Habits`
says otherwise; tests play both to the host.
"""

import itertools
import re
from dataclasses import dataclass, field

LINE = re.compile(
    rb"@(?P<session>[0-9a-f]{8}) (?P<number>0|[1-9][0-9]{0,8}) (?P<verb>[a-z]{2,8})"
    rb"(?P<pairs>(?: [a-z][a-z-]{0,11}=[a-z0-9.+-]{1,24})*) ~(?P<sum>[0-9a-f]{8})"
)
NATURAL, SETTING = re.compile(r"[0-9]{1,9}"), re.compile(r"[+-]?[0-9]{1,6}")
SIGNS = "acdefhjkmnprtuvwxy3479"
NONE = "0" * 16


def _divided(byte: int) -> int:
    for _ in range(8):
        byte = byte >> 1 ^ (0xEDB88320 if byte & 1 else 0)
    return byte


TABLE = [_divided(byte) for byte in range(256)]


def checksum(data: bytes) -> str:
    """Long division by the reflected polynomial edb88320, a byte at a time."""
    rest = 0xFFFFFFFF
    for byte in data:
        rest = rest >> 8 ^ TABLE[(rest ^ byte) & 0xFF]
    return f"{rest ^ 0xFFFFFFFF:08x}"


@dataclass
class Habits:
    """What it does otherwise than the page says, each by itself harmless to switch on."""

    event_without_b: str = ""
    """The event of which it forgets b=: gone, miss or held, said each second from its first live ms on."""
    says: tuple[str, str] = ("", "")
    """A state (met, live, or asked for a question that is open) and what it says in it, once, as an event."""
    not_before: int | None = None
    walk_share: float = 1.0
    throws_at_once: bool = False
    """It throws on ready."""
    throws_on_go: bool = False
    """It throws as soon as a go is agreed."""
    gone_twice: bool = False
    other_ball: int = 0
    gone_after_stopped: bool = False
    never_stopped: bool = False
    answers: dict[str, str] = field(default_factory=dict)
    """What it answers to a verb instead of the page's answer."""


class Stranger:
    def __init__(self, limits: dict[str, tuple[int, int]], cap: int, gap: int, name: str, feed_ms: int = 0) -> None:
        self.limits, self.cap, self.gap, self.name, self.feed_ms = limits, cap, gap, name, feed_ms
        self.habits = Habits()
        self.out, self.thrown, self.stops = b"", list[tuple[int, float]](), 0
        self.state, self.session, self.boots = "asleep", "", 1
        self.line, self.bad = b"", False
        self.last: tuple[bytes, bytes] = (b"", b"")
        self.hello: tuple[bytes, bytes] = (b"", b"")
        self.words: list[tuple[str, float]] = []
        self.number = self.events = self.expected = self.not_before = 0
        self.fresh = self.launched = self.touched = 0.0
        self.proven = False
        self.question: tuple[str, float, dict[str, str]] | None = None
        self.arm: dict[str, str] = {}
        self.aimed: tuple[int, dict[str, int]] | None = None
        self.pending: tuple[int, int, dict[str, int]] | None = None
        self.inside: tuple[int, int] | None = None
        self.fates: dict[int, str] = {}
        self.memory = (0, NONE, NONE)
        self.said = False
        self._serial = itertools.count(0x1A2B3C4D, 0x9E3779B1)

    # ---- what it draws

    def draw(self) -> str:
        return f"{next(self._serial) & 0xFFFFFFFF:08x}"

    def draw_session(self) -> str:
        return self.draw()

    def draw_code(self) -> str:
        return "".join(SIGNS[(next(self._serial) >> 7) % len(SIGNS)] for _ in range(4))

    # ---- bytes

    def take(self, ms: float, data: bytes) -> None:
        for byte in data:
            if byte == 0x07:
                self.stop(ms)
            elif byte == 0x0A:
                line, bad, self.line, self.bad = self.line, self.bad, b"", False
                if len(line) <= 95:
                    self.one(ms, line, bad)
            else:
                self.bad |= not 0x20 <= byte <= 0x7E
                self.line = (self.line + bytes([byte]))[:96]

    def tell(self, number: int, text: str) -> bytes:
        body = f":{self.session or '00000000'} {number} {text} ".encode()
        line = body + b"~" + checksum(body).encode() + b"\n"
        self.out += line
        return line

    def event(self, text: str) -> None:
        if self.session:
            self.events += 1
            word, _, rest = text.partition(" ")
            self.tell(0, f"{word} ev={self.events} {rest}".rstrip())

    def no(self, number: int, why: str) -> bytes:
        return self.tell(number, f"no why={why}")

    # ---- lines

    def one(self, ms: float, line: bytes, bad: bool) -> None:
        found = None if bad else LINE.fullmatch(line)
        pairs = [pair.split("=") for pair in found["pairs"].decode().split()] if found else []
        if found is None or checksum(line[:-9]).encode() != found["sum"] or len(dict(pairs)) != len(pairs):
            self.no(0, "garbled")
            return
        session, number, verb = found["session"].decode(), int(found["number"]), found["verb"].decode()
        values = dict(pairs)
        if verb == "hello":
            self.on_hello(ms, line, session, number, values)
        elif not self.session:
            self.no(number, "asleep")
        elif session != self.session:
            self.no(number, "old-session")
        elif verb == "tick" and number == 0:
            self.on_tick(ms, values)
        elif line == self.last[0]:
            self.out += self.last[1]
        elif number != self.number + 1 or verb == "tick":
            self.tell(number, f"no why=number want={self.number + 1}")
        else:
            self.number = number
            before = len(self.out)
            self.numbered(ms, number, verb, values)
            self.last = line, self.out[before:]
            if verb == "bye":
                self.session = ""

    def on_hello(self, ms: float, line: bytes, session: str, number: int, values: dict[str, str]) -> None:
        if self.session and line == self.hello[0]:
            self.out += self.hello[1]
        elif number != 1 or session != "00000000":
            self.tell(number, "no why=number want=1")
        elif len(values.get("n", "")) != 8 or not NATURAL.fullmatch(values.get("v", "")):
            self.no(1, "words")
        elif int(values["v"]) != 1:
            self.no(1, "version")
        else:
            self.drop("hello")
            self.session, self.number, self.events, self.proven = self.draw_session(), 1, 0, False
            self.words, self.fresh, self.question = [], ms, None
            if self.state not in ("stopped", "faulted"):
                self.state = "connected"
            last, fp, run = self.memory
            self.hello = line, self.tell(1, (
                f"hi n={values['n']} v=1 id={self.name} boot={self.boots} state={self.state} k={self.issue(ms)} "
                f"t={int(ms)} cap={self.cap} gap={self.gap} limits={self.checksum()} "
                f"last={last} lfp={fp} lrun={run}"))  # fmt: skip

    def checksum(self) -> str:
        ranges = " ".join(f"{key}={self.limits[key][0]}..{self.limits[key][1]}" for key in "seatk")
        return checksum(f"cap={self.cap} gap={self.gap} {ranges}".encode())

    def issue(self, ms: float) -> str:
        self.words = [*self.words, (self.draw(), ms)][-8:]
        return self.words[-1][0]

    def on_tick(self, ms: float, values: dict[str, str]) -> None:
        for word, issued in self.words:
            if word == values.get("k"):
                self.fresh = max(self.fresh, issued)
        q = values.get("q", "")
        self.tell(0, f"tock k={self.issue(ms)} t={int(ms)} st={self.state} "
                     f"q={int(q) if NATURAL.fullmatch(q) else 0} ev={self.events}")  # fmt: skip

    def numbered(self, ms: float, number: int, verb: str, values: dict[str, str]) -> None:
        acts = {"clear": self.clear, "arm": self.on_arm, "yes": self.yes, "ready": self.ready, "go": self.go,
                "hold": self.hold, "fate": self.fate, "bye": self.bye}  # fmt: skip
        said = acts[verb](ms, values) if verb in acts else "verb"
        if verb in self.habits.answers:
            self.tell(number, self.habits.answers[verb])
        elif said.startswith("ok"):
            self.tell(number, said)
        else:
            self.no(number, said)

    def clear(self, ms: float, values: dict[str, str]) -> str:
        if self.state not in ("stopped", "faulted"):
            return "state"
        self.state = "connected"
        return "ok"

    def on_arm(self, ms: float, values: dict[str, str]) -> str:
        if self.state not in ("connected", "held"):
            return "state"
        ends = values.get("from", ""), values.get("of", "")
        if len(values.get("fp", "")) != 16 or len(values.get("run", "")) != 16 or not all(map(NATURAL.fullmatch, ends)):
            return "words"
        if not self.proven:
            return "stop-unproven"
        if ms - self.fresh > 500:
            return "not-fresh"
        if not 1 <= int(ends[0]) <= int(ends[1]):
            return "range"
        if values["run"] == self.memory[2] and int(ends[0]) <= self.memory[0]:
            return "done-already"
        self.question = self.draw_code(), ms, values
        return f"ok c={self.question[0]} fp={values['fp']}"

    def yes(self, ms: float, values: dict[str, str]) -> str:
        question, self.question = self.question, None
        warning = values.get("w", "")
        if self.state not in ("connected", "held"):
            return "state"
        if not NATURAL.fullmatch(warning):
            return "words"
        if not 3000 <= int(warning) <= 120000:
            return "range"
        if question is None:
            return "no-question"
        if values.get("c") != question[0]:
            return "wrong-answer"
        if not 300 <= ms - question[1] <= 10000:
            return "answer-time"
        if ms - self.fresh > 500:
            return "not-fresh"
        if self.arm.get("run") != question[2]["run"]:
            self.fates = {}
        self.arm, self.aimed, self.state = question[2], None, "live"
        self.expected = int(self.arm["from"])
        self.not_before = int(ms) + 1 + int(int(warning) * self.habits.walk_share)
        self.touched = float(self.not_before)
        told = self.not_before if self.habits.not_before is None else self.habits.not_before
        return f"ok not-before={told}"

    def ball(self, values: dict[str, str]) -> tuple[int, dict[str, int]] | None:
        texts = {key: values.get(key, "") for key in "seatk"}
        if not NATURAL.fullmatch(values.get("b", "")) or not all(map(SETTING.fullmatch, texts.values())):
            return None
        return int(values["b"]), {key: int(text) for key, text in texts.items()}

    def beyond(self, number: int, settings: dict[str, int]) -> str:
        low, high = self.limits["s"]
        if number > int(self.arm.get("of", 0)) or settings["s"] < low:
            return "range"
        if any(not self.limits[key][0] <= settings[key] <= self.limits[key][1] for key in "eatk"):
            return "range"
        return "cap" if settings["s"] > min(self.cap, high) else ""

    def ready(self, ms: float, values: dict[str, str]) -> str:
        found = self.ball(values)
        if found is None:
            return "words"
        if self.state != "live":
            return "state"
        if why := self.beyond(*found):
            return why
        if found[0] < self.expected:
            return "ball"
        if self.pending or self.inside:
            return "busy"
        self.aimed = found
        if self.habits.throws_at_once:
            self.leave(ms, found[0], int(ms))
        return f"ok b={found[0]}"

    def go(self, ms: float, values: dict[str, str]) -> str:
        found, at = self.ball(values), values.get("at", "")
        if found is None or not NATURAL.fullmatch(at):
            return "words"
        if self.state != "live":
            return "state"
        if ms - self.fresh > 500:
            return "not-fresh"
        if why := self.beyond(*found):
            return why
        moment = int(at)
        for why, wrong in (
            ("ball", found[0] < self.expected), ("busy", bool(self.pending or self.inside)),
            ("late", moment - ms < 20 + self.feed_ms), ("early", moment - ms > 2000),
            ("walk-time", moment < self.not_before), ("gap", moment - self.launched < self.gap),
            ("not-ready", self.aimed != found),
        ):  # fmt: skip
            if wrong:
                return why
        self.pending, self.expected = (found[0], moment, found[1]), found[0] + 1
        self.fates[found[0]] = "pending"
        return f"ok b={found[0]}"

    def hold(self, ms: float, values: dict[str, str]) -> str:
        if self.state not in ("live", "held"):
            return "state"
        self.drop("hold")
        self.state = "held"
        return "ok"

    def fate(self, ms: float, values: dict[str, str]) -> str:
        if not NATURAL.fullmatch(values.get("b", "")):
            return "words"
        number = int(values["b"])
        return f"ok b={number} fate={self.fates.get(number, 'never')}"

    def bye(self, ms: float, values: dict[str, str]) -> str:
        self.drop("bye")
        if self.state not in ("stopped", "faulted"):
            self.state = "asleep"
        return "ok"

    # ---- stop, hold, launch

    def stop(self, ms: float) -> None:
        self.stops += 1
        if self.habits.never_stopped:
            return
        late = self.pending
        self.drop("stop")
        self.question, self.proven = None, bool(self.session)
        if self.state != "faulted":
            self.state = "stopped"
        self.event("stopped why=byte")
        if self.habits.gone_after_stopped and late:
            self.thrown.append((late[0], ms))
            self.event(f"gone b={late[0]} t={int(ms)}")

    def drop(self, why: str) -> None:
        if self.inside:
            self.tell_gone(*self.inside)
        if self.pending:
            number = self.pending[0]
            self.pending, self.fates[number] = None, "missed"
            self.event(f"miss b={number} why={why}")

    def tell_gone(self, number: int, at: int) -> None:
        if self.fates.get(number) != "gone":
            self.fates[number] = "gone"
            self.memory = number, self.arm["fp"], self.arm["run"]
            self.event(f"gone b={number} t={at}" if self.habits.event_without_b != "gone" else f"gone t={at}")

    def leave(self, ms: float, number: int, at: int) -> None:
        self.thrown.append((number, ms))
        self.launched = self.touched = ms
        self.tell_gone(number, at)
        if self.habits.gone_twice:
            self.thrown.append((number, ms))
            self.event(f"gone b={number} t={at}")
        if self.habits.other_ball:
            self.thrown.append((number + self.habits.other_ball, ms))
            self.event(f"gone b={number + self.habits.other_ball} t={at}")
        if number == int(self.arm["of"]) and self.state == "live":
            self.state = "connected"

    def due(self) -> float | None:
        moments = [self.inside[1]] if self.inside else [self.pending[1] - self.feed_ms] if self.pending else []
        if self.session and self.state == "live":
            moments.append(int(self.fresh + 501))
        return float(min(moments)) if moments else None

    def pass_time(self, ms: float) -> None:
        """Whatever its moment has come for."""
        state, text = self.habits.says
        if text and not self.said and state == ("asked" if self.question else self.state) and ms - self.fresh < 500:
            self.said = True
            self.event(text)
        if self.pending and (ms >= self.pending[1] - self.feed_ms or self.habits.throws_on_go):
            number, at, _ = self.pending
            off = abs(ms - at + self.feed_ms) > 30 and not self.habits.throws_on_go
            failed = "not-fresh" if ms - self.fresh > 500 else "moment" if off else ""
            if failed:
                self.drop(failed)
                self.state = "held"
                self.event(f"held why={failed}")
            else:
                self.pending, self.inside = None, (number, int(ms) if self.habits.throws_on_go else at)
        if self.inside and ms >= self.inside[1]:
            number, at = self.inside
            self.inside = None
            self.leave(ms, number, at)
        if self.session and self.state == "live" and ms - self.fresh > 500:
            self.drop("quiet")
            self.state = "held"
            self.event("held why=quiet")
        if self.session and self.state == "live" and not self.pending and ms - self.touched > 120000:
            self.state = "connected"
        if self.session and self.state in ("connected", "held") and ms - self.fresh > 5000:
            self.state, self.session = "asleep", ""
