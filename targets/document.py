"""The plan as a JSON document: written for people and other programs, and checked in full when read back."""

import json
from codecs import BOM_UTF8
from typing import Any

from ..compiler.model.bounds import unfit
from ..compiler.model.plan import VERSION, Plan
from ..compiler.model.record import Unsound
from ..compiler.model.timing import clock_faults

LIMIT = 8 * 1024 * 1024
"""Most bytes of a plan; 20,000 launches, the most that a script may ask for, need far fewer."""


class PlanRefused(ValueError):
    """A plan document that is refused; the text is one sentence for people."""


def render(plan: Plan) -> bytes:
    return (json.dumps(plan.data(), indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def read(data: bytes) -> Plan:
    """The plan in a document, complete: it contains all that it names, each figure is within its bounds, and its times
    agree. PlanRefused if it is damaged, edited by hand, too large or of another version."""
    if len(data) > LIMIT:
        raise PlanRefused(f"The plan has {len(data)} bytes; at most {LIMIT} are read.")
    data = data.removeprefix(BOM_UTF8)
    _check_version(_parsed(data))
    from ..compiler.model.incoming import entries  # pydantic is slow to load, and who writes a plan does without

    try:
        plan = Plan(**entries(data))  # each entry is judged there, and here what they say against each other
    except Unsound as unsound:
        raise PlanRefused(f"The plan does not have the form of a plan: {unfit(unsound)}. Build it again.") from None
    if plan.digest != plan.fresh_digest():
        raise PlanRefused("The plan's digest does not match its content: the plan was changed after it was checked.")
    for wrong in clock_faults(plan):
        raise PlanRefused(wrong)
    return plan


def _parsed(data: bytes) -> Any:
    try:
        return json.loads(data.decode("utf-8"), object_pairs_hook=_unique, parse_constant=_no_constant)
    except PlanRefused:
        raise
    except UnicodeDecodeError:
        raise PlanRefused("The plan is not UTF-8 text.") from None
    except RecursionError:
        raise PlanRefused("The plan is nested too deeply.") from None
    except json.JSONDecodeError as error:
        raise PlanRefused(f"The plan is not JSON from line {error.lineno}, column {error.colno}.") from None
    except ValueError:  # a number longer than Python reads
        raise PlanRefused("The plan is not JSON: it contains a number that is too long.") from None


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key, value in pairs:
        if key in result:
            raise PlanRefused(f"The plan gives {key!r} twice in one place.")
        result[key] = value
    return result


def _no_constant(word: str) -> float:
    raise PlanRefused(f"The plan contains {word}, which is not a number to launch with.")


def _check_version(body: Any) -> None:
    if not isinstance(body, dict) or body.get("format") != "feedwright-plan":
        raise PlanRefused("The document is not a Feedwright plan.")
    version = body.get("version")
    if type(version) is not int or version < 1:  # true and 1.0 equal 1 but are not versions
        raise PlanRefused("The plan does not give its version.")
    if version != VERSION:
        more = "Use a newer one." if version > VERSION else "Build it again."
        raise PlanRefused(f"The plan has version {version}; this Feedwright reads version {VERSION}. {more}")
