"""The next session of a script: the same blocks, longer for weak variations and shorter for strong ones.

The rule: each variation has the weight 1 + 2 x (1 - c), where c is the chance of its goal in a block at the share
recorded so far, one half if nothing is known. So the weight runs from 1, if the goal is certain, to 3, if it is out of
reach. The weights divide the minutes of the blocks with a single variation; their sum stays the same except for
rounding. Blocks that mix variations, ladders, rests and collects do not change. If no block has a single variation, the
rule adds two minutes of the weakest variation at the end.
"""

from collections.abc import Callable, Iterator

from ...compiler.model.plan import Plan
from ...grammar import syntax as s
from ...grammar.edits import amount, changed, counted, name, rewritten
from ...grammar.frozen import replace
from ...grammar.parse import parse
from ...grammar.print import printed
from ...grammar.source import Source
from . import LogRefused
from .figures import VariationFigures

MARK = "# log plan: "
_SUFFIX = "; weak variations longer"


def next_session(text: str, plan: Plan, counted: list[VariationFigures], compiles: Callable[[str], str]) -> str:
    """A script that compiles; `compiles` returns the first error of a script, or nothing. LogRefused if none does."""
    variation_of = {shot.feed: shot.variation or "" for shot in plan.shots}
    if len(set(variation_of.values())) < 2:
        raise LogRefused("the script has only one variation, so no other can give it minutes")
    weights = _weights(set(variation_of.values()), counted)
    text = "".join(line for line in text.splitlines(keepends=True) if not line.startswith(MARK))
    tree, _ = parse(Source(plan.source.name, text))
    why = ""
    for candidate in _candidates(tree, plan, variation_of, weights):
        why = compiles(_head(weights, counted) + candidate)
        if not why:
            return _head(weights, counted) + candidate
    raise LogRefused(f"no other division of the minutes compiles: {why}")


def _weights(variations: set[str], counted: list[VariationFigures]) -> dict[str, float]:
    chances = {one.variation: one.chance for one in counted}
    return {v: 1 + 2 * (1 - (0.5 if (c := chances.get(v)) is None else c)) for v in sorted(variations)}


def _head(weights: dict[str, float], counted: list[VariationFigures]) -> str:
    lines = [
        "blocks of one variation alone last by its weight, 1 + 2 x (1 - chance of its goal in a block);",
        "a variation without figures has the chance one half. Mixed blocks, ladders and pauses stay as they were.",
    ]
    known = {one.variation: one for one in counted}
    for variation, weight in weights.items():
        one = known.get(variation)
        figures = f"{one.total.hits} of {one.total.judged} hit" if one else "no figures"
        lines.append(f"{variation or 'no variation'}: {figures}, weight {weight:.2f}")
    return "".join(f"{MARK}{line}\n" for line in lines)


def _candidates(tree: s.Tree, plan: Plan, variation_of: dict[str, str], weights: dict[str, float]) -> Iterator[str]:
    """First the full change, then a half and a quarter of it: a hopper or a machine's pace may not allow more."""
    alone: dict[str, float] = {}
    for block in plan.blocks:
        found = {shot.variation or "" for shot in plan.shots if shot.id in block.shots}
        if block.kind == "balls" and block.ladder is None and len(found) == 1:
            one = found.pop()
            alone[one] = alone.get(one, 0.0) + block.duration_s
    if len(alone) > 1:
        mean = sum(weights[v] * seconds for v, seconds in alone.items()) / sum(alone.values())
        for strength in (1.0, 0.5, 0.25):
            factors = {v: 1 + strength * (weights[v] / mean - 1) for v in alone}
            yield _rewritten(tree, lambda said, f=factors: _scaled(said, variation_of, f))  # type: ignore[misc]
    weakest = max(weights, key=lambda v: weights[v])
    feed = next(shot.feed for shot in plan.shots if (shot.variation or "") == weakest)
    more = s.Timed(amount(2, 0, "min"), s.Share(None, name(feed)))
    for pause in (s.Rest(amount(30, 0, "s")), s.Collect()):
        yield _rewritten(tree, lambda said: said, pause, more)


def _rewritten(tree: s.Tree, change: Callable[[s.Sentence], s.Sentence], *more: s.Sentence) -> str:
    """The script with each sentence of its session changed, and more sentences at the session's end."""
    lines = []
    for line in tree.lines:
        if isinstance(line.sentence, s.Session):
            title = line.sentence.title.unquoted.removesuffix(_SUFFIX) + _SUFFIX
            indent = line.children[0].indent if line.children else None
            added = tuple(s.Line(sentence, indent=indent, gap="") for sentence in more)
            line = replace(
                line,
                sentence=s.Session(s.Word("TITLE", f'"{title}"')),
                children=(*rewritten(line.children, change), *added),
            )
        lines.append(line)
    return printed(replace(tree, lines=tuple(lines)))


def _scaled(said: s.Sentence, variation_of: dict[str, str], factors: dict[str, float]) -> s.Sentence:
    """A block with a single variation, longer or shorter by the variation's factor; anything else unchanged."""
    if not isinstance(said, s.Timed | s.Counted):
        return said
    shares = (said.order,) if isinstance(said.order, s.Share) else said.order.shares
    found = {variation_of[share.name.text] for share in shares if share.name.text in variation_of}
    if len(found) != 1:
        return said
    factor = factors.get(found.pop(), 1.0)
    if isinstance(said, s.Counted):
        return changed(said, number=_times(said.number, factor, 1.0))
    if isinstance(said.amount, s.Quantity):
        grain = {"min": 0.5, "s": 5.0}[said.amount.unit.text]
        return changed(said, amount=changed(said.amount, number=_times(said.amount.number, factor, grain)))
    return said


def _times(number: s.Word, factor: float, grain: float) -> s.Word:
    now = float(number.text)
    return counted(max(min(grain, now), round(now * factor / grain) * grain), 2)
