"""Numbers of a plan in words for a person on court. Left and right are the feeder's, facing the player."""

from math import hypot

from ...compiler.model.plan import CourtRecord, Launch, PlayerRecord

RACKET_M = 0.7
"""Length of a racket for the eye: the rules allow 73.7 cm at most (ITF Rules of Tennis, Rule 4 and its appendix),
and most adult rackets measure about 69 cm (common practice, no source)."""

NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def number(value: float, digits: int = 1) -> str:
    """Shortest decimal with at most `digits` places; never -0."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def span(low: float, high: float, digits: int = 1) -> str:
    a, b = number(low, digits), number(high, digits)
    return a if a == b else f"{a} to {b}"


def plural(count: int, one: str, many: str | None = None) -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


def along(low: float, high: float, court: CourtRecord) -> str:
    """Distances from the net, in m and without sign, told from the line nearest to their middle."""
    middle = (low + high) / 2
    lines = {0.0: "net", court.service_m: "service line", court.half_length_m: "baseline"}
    line = min(lines, key=lambda y: abs(y - middle))
    if line == 0.0:
        return f"{span(low, high)} m from net"
    nearer, beyond = ("inside", "behind") if line == court.half_length_m else ("short of", "past")
    return _from_line(low - line, high - line, lines[line], nearer, beyond)


def across(low: float, high: float, court: CourtRecord) -> str:
    """Places x from `low` to `high`, m, told from the middle line or from a sideline, whichever is nearer."""
    middle = (low + high) / 2
    side = "right" if middle > 0 else "left"
    if abs(middle) <= court.half_width_m / 2:
        if max(abs(low), abs(high)) < 0.25:
            return "on the middle"
        return _from_line(low, high, "middle", "left of", "right of")
    name = "singles line" if court.half_width_m < court.doubles_half_width_m else "sideline"
    edges = sorted((abs(low), abs(high)))
    return _from_line(
        edges[0] - court.half_width_m, edges[1] - court.half_width_m, f"{side} {name}", "inside", "outside"
    )


def _from_line(low: float, high: float, line: str, minus: str, plus: str) -> str:
    """Signed distances from a line; below 5 cm the ball is on it."""
    if max(abs(low), abs(high)) < 0.05:
        return f"on {line}"
    if high < 0.05:
        return f"{span(-high if high < 0 else 0, -low)} m {minus} {line}"
    if low > -0.05:
        return f"{span(max(low, 0), high)} m {plus} {line}"
    return f"from {number(-low)} m {minus} to {number(high)} m {plus} {line}"


def wing(x: float, player: PlayerRecord) -> str:
    """The player's side of the court: facing the net, the right hand is towards -x."""
    if abs(x) < 0.25:
        return ""
    return "forehand" if (x < 0) == (player.hand == "right") else "backhand"


def rackets(low: float, high: float) -> str:
    """Heights over the net, m, in rackets to the half."""
    names = dict.fromkeys(in_rackets(max(value, 0)) for value in (low, high))
    return f"{' to '.join(names)} over ({span(low, high, 2 if low < 0.5 else 1)} m)"


def in_rackets(height: float) -> str:
    whole, half = divmod(round(2 * height / RACKET_M), 2)
    if whole == 0:
        return "half a racket" if half else "just"
    return f"{whole}{'½' if half else ''} racket{'' if (whole, half) == (1, 0) else 's'}"


def spin(launch: Launch, with_rpm: bool) -> str:
    """Flat below 300 rpm, some up to 1500, much above: common practice, no source."""
    parts = []
    if hypot(launch.topspin_rpm, launch.sidespin_rpm) >= 300:
        for rpm, plus, minus in (
            (launch.topspin_rpm, "topspin", "backspin"),
            (launch.sidespin_rpm, "sidespin, curves left", "sidespin, curves right"),
        ):
            if abs(rpm) >= 300 or (rpm and with_rpm):
                amount = "much" if abs(rpm) > 1500 else "some" if abs(rpm) >= 300 else "hint of"
                told = f" ({abs(rpm):.0f} rpm)" if with_rpm else ""
                parts.append(f"{amount} {plus if rpm > 0 else minus}{told}")
    if not parts:
        rpm = hypot(launch.topspin_rpm, launch.sidespin_rpm)
        return f"flat ({rpm:.0f} rpm)" if with_rpm and rpm >= 0.5 else "flat"
    return " and ".join(parts)


def pace(low_mps: float, high_mps: float) -> str:
    """Speed as it leaves the feeder; the words are our own scale: 40, 70 and 100 km/h part them."""
    middle = (low_mps + high_mps) / 2 * 3.6
    word = "gentle" if middle < 40 else "medium" if middle < 70 else "brisk" if middle < 100 else "fast"
    return f"{word}, {span(low_mps * 3.6, high_mps * 3.6, 0)} km/h"


def counted(interval_s: float) -> str:
    """The time between two feeds as a count of one a second that ends on the feed."""
    halves = round(2 * interval_s)
    whole, half = divmod(halves, 2)
    if not 1 <= whole <= len(NUMBERS):
        return ""
    words = [*NUMBERS[:whole], "and feed"] if half else [*NUMBERS[: whole - 1], "feed"]
    about = "" if abs(interval_s - halves / 2) < 0.05 else "about "
    return f"{about}“{', '.join(words)}”"
