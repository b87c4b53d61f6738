"""The edge: each message of a machine becomes a complete, frozen value here, or `Nonsense`. Code behind it never has to
check for missing values.

A frame that arrives here is well-formed (see wire/frames.py); this module checks that the protocol allows its content.
"""

from dataclasses import dataclass

from ..wire import rules
from ..wire.frames import Frame


@dataclass(frozen=True, slots=True)
class Nonsense:
    """A well-formed message that the protocol does not allow; `text` names it and what it lacks."""

    text: str


# ---- answers to a numbered line


@dataclass(frozen=True, slots=True)
class Hi:
    nonce: str
    version: int
    id: str
    boot: int
    state: str
    word: str
    ms: int
    cap: int
    gap: int
    limits: str
    last: int
    last_program: str
    last_run: str


@dataclass(frozen=True, slots=True)
class Done:
    """ok, with nothing more that matters."""


@dataclass(frozen=True, slots=True)
class Question:
    """The code that a person must type."""

    code: str
    program: str = ""


@dataclass(frozen=True, slots=True)
class NotBefore:
    """Armed; no ball before the device's `ms`."""

    ms: int


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of a ball, one of rules.FATES."""

    ball: int
    fate: str


@dataclass(frozen=True, slots=True)
class DeviceRefusal:
    why: str


@dataclass(frozen=True, slots=True)
class Silence:
    """No answer came."""


Answer = Hi | Done | Question | NotBefore | Fate | DeviceRefusal | Silence | Nonsense

# ---- what comes unasked


@dataclass(frozen=True, slots=True)
class Tock:
    word: str
    ms: int
    state: str
    tick: int


@dataclass(frozen=True, slots=True)
class Gone:
    ball: int


@dataclass(frozen=True, slots=True)
class Missed:
    ball: int
    why: str


@dataclass(frozen=True, slots=True)
class Held:
    why: str


@dataclass(frozen=True, slots=True)
class Stopped:
    why: str


@dataclass(frozen=True, slots=True)
class DeviceFault:
    why: str


Event = Gone | Missed | Held | Stopped | DeviceFault

# ---- what a machine's adapter reports to the host


@dataclass(frozen=True, slots=True)
class Proving:
    """It said who it is; now stop is tested. `last`: the last ball of this program that it threw in another run, 0 for
    none."""

    last: int


@dataclass(frozen=True, slots=True)
class GoingQuiet:
    """Stop is proven; now the link goes quiet on purpose."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """A person may arm. `said`: the findings, in words; `quiet_shown`: whether a quiet link kept it from arming."""

    said: str
    quiet_shown: bool


@dataclass(frozen=True, slots=True)
class Armed:
    """The code was right; the walk time has begun."""


@dataclass(frozen=True, slots=True)
class NotArmed:
    why: str


@dataclass(frozen=True, slots=True)
class Aimed:
    """Wheels and head have the settings of the next ball."""


@dataclass(frozen=True, slots=True)
class Unsaid:
    """The line that throws a ball was sent to a machine that does not answer."""

    ball: int


@dataclass(frozen=True, slots=True)
class GoRefused:
    """The machine refused the go of the ball on its way: it was not thrown."""

    why: str


@dataclass(frozen=True, slots=True)
class Holding:
    """It holds because the host asked it to."""


@dataclass(frozen=True, slots=True)
class FateUnknown:
    """It does not say whether it threw the ball on its way."""


@dataclass(frozen=True, slots=True)
class Failed:
    """Play cannot go on; `why` in one sentence."""

    why: str


@dataclass(frozen=True, slots=True)
class Left:
    """The end of a stop. `confirmed`: whether it said that it stopped, None if nothing needs confirming. `said`: the
    same in words."""

    confirmed: bool | None
    said: str = ""


@dataclass(frozen=True, slots=True)
class SaysNothing:
    """The end of a stop with a machine that never says whether it obeys."""


Happening = (
    Event | Question | Fate | Proving | GoingQuiet | Prepared | Armed | NotArmed | Aimed | Unsaid | GoRefused | Holding
    | FateUnknown | Failed | Left | SaysNothing
)  # fmt: skip


class _Lacks(Exception):
    """The key that is missing or ill-formed."""


def _natural(frame: Frame, key: str) -> int:
    if (value := frame.natural(key)) is None:
        raise _Lacks(key)
    return value


def _text(frame: Frame, key: str, among: tuple[str, ...] = ()) -> str:
    value = frame.values.get(key, "")
    if not value or (among and value not in among):
        raise _Lacks(key)
    return value


def answer(verb: str, frame: Frame) -> Answer:
    """The content of an answer to a line with this verb."""
    try:
        if frame.word == "no":
            return DeviceRefusal(_text(frame, "why"))
        if frame.word == "hi" and verb == "hello":
            return _hi(frame)
        if frame.word != "ok" or verb == "hello":
            return Nonsense(f"{frame.word}, which is no answer to {verb}")
        match verb:
            case "arm":
                code = _text(frame, "c")
                if len(code) != 4 or not set(code) <= set(rules.CODE_ALPHABET):
                    raise _Lacks("c")
                return Question(code, _text(frame, "fp"))
            case "yes":
                return NotBefore(_natural(frame, "not-before"))
            case "fate":
                return Fate(_natural(frame, "b"), _text(frame, "fate", rules.FATES))
        return Done()
    except _Lacks as lacks:
        return Nonsense(f"{frame.word} in answer to {verb}, without a valid {lacks}=")


def _hi(frame: Frame) -> Hi:
    return Hi(
        _text(frame, "n"), _natural(frame, "v"), _text(frame, "id"), _natural(frame, "boot"),
        _text(frame, "state", rules.STATES), _text(frame, "k"), _natural(frame, "t"), _natural(frame, "cap"),
        _natural(frame, "gap"), _text(frame, "limits"), _natural(frame, "last"), _text(frame, "lfp"),
        _text(frame, "lrun"),
    )  # fmt: skip


def tock(frame: Frame) -> Tock | Nonsense:
    try:
        _natural(frame, "ev")
        return Tock(_text(frame, "k"), _natural(frame, "t"), _text(frame, "st", rules.STATES), _natural(frame, "q"))
    except _Lacks as lacks:
        return Nonsense(f"tock without a valid {lacks}=")


def event(frame: Frame) -> tuple[int, Event] | Nonsense:
    """An event with its number; numbers start at 1."""
    try:
        number = _natural(frame, "ev")
        match frame.word:
            case "gone":
                _natural(frame, "t")
                return number, Gone(_natural(frame, "b"))
            case "miss":
                return number, Missed(_natural(frame, "b"), _text(frame, "why"))
            case "held":
                return number, Held(_text(frame, "why"))
            case "stopped":
                return number, Stopped(_text(frame, "why"))
            case "fault":
                return number, DeviceFault(_text(frame, "why"))
        return Nonsense(f"{frame.word}, which is no event")
    except _Lacks as lacks:
        return Nonsense(f"{frame.word} without a valid {lacks}=")
