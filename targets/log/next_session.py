"""The next session of a script: the same blocks, weak jobs longer, strong ones shorter.

The rule: each job weighs 1 + 2 x (1 - c), where c is the chance of its goal in a block at the share recorded so far,
one half where nothing is known; so from 1, where the goal is sure, to 3, where it is out of reach. The minutes of
blocks that are of one job alone are shared out anew by these weights; the sum stays what it was, but for rounding.
Blocks that mix jobs, ladders, rests and collects stay as they are. Where no block is of one job alone, two minutes of
the weakest job come at the end.
"""

import re
from collections.abc import Callable, Iterator

from ...compiler.model.plan import Plan
from . import LogRefused
from .figures import Job

MARK = "# log plan: "
_SESSION = re.compile(r'session\s+("[^"\n]*")[^\n]*', re.ASCII)
_BLOCK = re.compile(
    r"(?P<indent>[ \t]+)(?P<amount>[0-9]+(?:\.[0-9]+)?)(?P<unit> ?(?:min|s)| balls?)\b(?P<order>.*)", re.ASCII
)
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]*", re.ASCII)
_SUFFIX = "; weak jobs longer"


def next_session(text: str, plan: Plan, jobs: list[Job], compiles: Callable[[str], str]) -> str:
    """A script that compiles: `compiles` gives what is wrong with one, or nothing. LogRefused where none does."""
    variation_of = {shot.feed: shot.variation or "" for shot in plan.shots}
    if len(set(variation_of.values())) < 2:
        raise LogRefused("the script has one job alone, so no other can give it minutes")
    weights = _weights(set(variation_of.values()), jobs)
    text = "".join(line for line in text.splitlines(keepends=True) if not line.startswith(MARK))
    why = ""
    for candidate in _candidates(text, plan, variation_of, weights):
        why = compiles(_head(weights, jobs) + candidate)
        if not why:
            return _head(weights, jobs) + candidate
    raise LogRefused(f"no other share of the minutes compiles: {why}")


def _weights(variations: set[str], jobs: list[Job]) -> dict[str, float]:
    chances = {job.variation: job.chance for job in jobs}
    return {v: 1 + 2 * (1 - (0.5 if (c := chances.get(v)) is None else c)) for v in sorted(variations)}


def _head(weights: dict[str, float], jobs: list[Job]) -> str:
    lines = [
        "blocks of one job alone last by its weight, 1 + 2 x (1 - chance of its goal in a block);",
        "a job without figures has the chance one half. Mixed blocks, ladders and pauses stay as they were.",
    ]
    known = {job.variation: job for job in jobs}
    for variation, weight in weights.items():
        job = known.get(variation)
        figures = f"{job.total.hits} of {job.total.judged} hit" if job else "no figures"
        lines.append(f"{variation or 'no variation'}: {figures}, weight {weight:.2f}")
    return "".join(f"{MARK}{line}\n" for line in lines)


def _candidates(text: str, plan: Plan, variation_of: dict[str, str], weights: dict[str, float]) -> Iterator[str]:
    """The whole shift first, then half and a quarter of it: a hopper or a machine's pace may not bear more."""
    alone: dict[str, float] = {}
    for block in plan.blocks:
        found = {shot.variation or "" for shot in plan.shots if shot.id in block.shots}
        if block.kind == "balls" and block.ladder is None and len(found) == 1:
            name = found.pop()
            alone[name] = alone.get(name, 0.0) + block.duration_s
    if len(alone) > 1:
        mean = sum(weights[v] * seconds for v, seconds in alone.items()) / sum(alone.values())
        for strength in (1.0, 0.5, 0.25):
            factors = {v: 1 + strength * (weights[v] / mean - 1) for v in alone}
            yield _rewritten(text, lambda line, f=factors: _scaled(line, variation_of, f), [])  # type: ignore[misc]
    weakest = max(weights, key=lambda v: weights[v])
    feed = next(shot.feed for shot in plan.shots if (shot.variation or "") == weakest)
    for pause in ("rest 30 s", "collect"):
        yield _rewritten(text, lambda line: line, [pause, f"2 min {feed}"])


def _rewritten(text: str, change: Callable[[str], str], more: list[str]) -> str:
    """The script with each line of its session changed and some lines more at the session's end."""
    done: list[str] = []
    inside, indent, last = False, "", 0
    for line in text.splitlines():
        head = _SESSION.match(line)
        if head:
            title = head[1] if head[1].endswith(f'{_SUFFIX}"') else f'{head[1][:-1]}{_SUFFIX}"'
            line, inside = f"session {title}", True
            last = len(done) + 1
        elif inside and line.strip():
            inside = line[0] in " \t#"
            if inside and line[0] != "#":
                indent = indent or line[: len(line) - len(line.lstrip())]
                line, last = change(line), len(done) + 1
        done.append(line)
    done[last:last] = [f"{indent}{sentence}" for sentence in more]
    return "\n".join(done) + "\n"


def _scaled(line: str, variation_of: dict[str, str], factors: dict[str, float]) -> str:
    block = _BLOCK.fullmatch(line)
    if not block:
        return line
    feeds = _NAME.findall(block["order"].partition("#")[0])
    found = {variation_of[name] for name in feeds if name in variation_of}
    if len(found) != 1:
        return line
    amount, unit = float(block["amount"]), block["unit"].strip()
    grain = {"min": 0.5, "s": 5.0}.get(unit, 1.0)
    new = max(min(grain, amount), round(amount * factors[found.pop()] / grain) * grain)
    old = f"{block['amount']}{block['unit']}{block['order'][: -len(block['order'].lstrip())]}"
    return f"{block['indent']}{f'{new:g} {unit} '.ljust(len(old))}{block['order'].lstrip()}"
