"""Plans that stretch a page: ten balls in a block, a ladder, a family, hostile text. Figures are plausible only."""

from feedwright.compiler.model.plan import Block, Ladder, LaunchTime, PartRecord, Plan, ReplyRecord, Shot, Spread

from .plans import make_plan, make_shot

JOINED_EMOJI = "family \U0001f468\u200d\U0001f469\u200d\U0001f467 plays"
RIGHT_TO_LEFT = "שלום עולם"
HOSTILE = [
    "<script>alert(1)</script>",
    '" onload="alert(1)',
    "</title></style><img src=x onerror=alert(1)>",
    "&lt;b&gt; &amp; {program} {0.__class__} %s $x",
    "#panic(1) *bold* $x$ @ref <label> \\ [ ] // no comment",
    "abc\u202egnp.exe\u2066",
    "W" * 300,
    JOINED_EMOJI,
    RIGHT_TO_LEFT,
]


def ball(machine: bool, n: int) -> Shot:
    """The n-th of ten balls that differ in place, height, spin and pace."""
    base = make_shot(machine)
    x, y = -3.0 + 0.66 * n, 7.2 + 0.45 * n
    launch = base.launch.model_copy(
        update={"speed_mps": 12.0 + 2 * n, "topspin_rpm": -900.0 + 400 * n, "elevation_deg": 6.0 + n}
    )
    predicted = base.predicted.model_copy(
        update={"landing_m": (x, y), "contact_m": (x * 1.1, 12.885, 0.6 + 0.1 * n), "net_clearance_m": 0.3 + 0.25 * n}
    )
    return base.model_copy(
        update={
            "id": f"ball-{n}",
            "feed": f"ball-{n}",
            "variation": "rally" if n % 2 else "climb",
            "launch": launch,
            "predicted": predicted,
            "zone_m": (x - 1, x + 1, y - 1, y + 1),
        }
    )


def _set(shot: Shot, off: float) -> Shot:
    """With settings of its own."""
    return shot.model_copy(update={"settings": {name: value and value + off for name, value in shot.settings.items()}})


def alone(plan: Plan, block: Block, shots: tuple[Shot, ...], launches: tuple[LaunchTime, ...]) -> Plan:
    """The plan with that block and no other."""
    totals = {"balls": len(launches), "duration_s": block.end_s, "parts": 1}
    return plan.model_copy(
        update={
            "shots": shots,
            "blocks": (block,),
            "parts": (PartRecord(index=0, start_s=0.0, end_s=block.end_s),),
            "launches": launches,
            "totals": plan.totals.model_copy(update=totals),
        }
    ).sealed()


def ten_rows(machine: bool) -> Plan:
    """One block: sixty balls of ten kinds, mixed, two variations."""
    plan = make_plan(machine)
    shots = tuple(_set(ball(machine, n), 10.0 * n) for n in range(10))
    order = [shots[(7 * n + n // 10) % 10].id for n in range(60)]
    block = plan.blocks[2].model_copy(
        update={"index": 0, "start_s": 0.0, "end_s": 240.0, "balls": 60, "shots": tuple(s.id for s in shots)}
    )
    launches = tuple(LaunchTime(at_s=4.0 * n, shot=shot, block=0) for n, shot in enumerate(order))
    one = plan.model_copy(update={"player": plan.player.model_copy(update={"in_line": 1, "rotate_every": None})})
    return alone(one, block, shots, launches)


def ladder(machine: bool) -> Plan:
    """Thirty balls on five rungs of pace."""
    plan = make_plan(machine)
    base = make_shot(machine)
    shots = tuple(
        base.model_copy(
            update={
                "id": f"fast {n}",
                "feed": "fast",
                "launch": base.launch.model_copy(update={"speed_mps": 20.0 + n / 4}),
            }
        )
        for n in range(1, 6)
    )
    rungs = tuple(shot.id for shot in shots)
    rules = Ladder(
        quantity="pace", rungs=tuple((rung,) for rung in rungs), labels=tuple(f"{70 + n} km/h" for n in range(1, 6)),
        up={"hits": 3, "among": 3}, down_misses=2, down_in=4,
    )  # fmt: skip
    block = plan.blocks[0].model_copy(
        update={"order": "ladder", "balls": 30, "end_s": 120.0, "shots": rungs, "ladder": rules}
    )
    launches = tuple(LaunchTime(at_s=4.0 * n, shot=None, block=0, any_of=rungs) for n in range(30))
    return alone(plan, block, shots, launches)


def family(machine: bool) -> Plan:
    """Five shots of one feed, a quarter of a metre apart in depth."""
    plan = make_plan(machine)
    base = make_shot(machine)
    shots = tuple(
        base.model_copy(
            update={
                "id": f"steady {n}",
                "predicted": base.predicted.model_copy(update={"landing_m": (2.6, 8.9 + 0.25 * n)}),
            }
        )
        for n in range(1, 6)
    )
    ids = tuple(shot.id for shot in shots)
    block = plan.blocks[0].model_copy(update={"order": "mix", "balls": 10, "end_s": 40.0, "shots": ids})
    launches = tuple(LaunchTime(at_s=4.0 * n, shot=ids[n % 5], block=0) for n in range(10))
    return alone(plan, block, shots, launches)


def spread_out(machine: bool) -> Plan:
    """The two-ball plan with spread and good replies."""
    plan = make_plan(machine)
    known = {
        "spread": Spread(
            share_in_zone=0.82,
            share_in_zone_least=0.41,
            share_in_zone_most=0.86,
            share_over_net=0.99,
            least_drag_m=(2.6, 10.5),
            most_drag_m=(2.6, 8.7),
            least_drag_contact_m=1.31,
            most_drag_contact_m=0.97,
            half_axes_m=(0.9, 0.35),
            angle_deg=80.0,
        ),
        "reply": ReplyRecord(
            share_good=0.62,
            speed_mps=25.0,
            elevation_deg=7.0,
            azimuth_deg=182.0,
            low_deg=4.0,
            high_deg=10.1,
            side_window_deg=24.0,
        ),
    }
    return plan.model_copy(update={"shots": tuple(shot.model_copy(update=known) for shot in plan.shots)}).sealed()


def everywhere(plan: Plan, title: str) -> Plan:
    """The plan with a text in each place that comes from a file, as the name of its first ball too."""

    def named(*balls: str) -> tuple[str, ...]:
        return tuple(title if ball == plan.shots[0].id else ball for ball in balls)

    feeder = plan.feeder.model_copy(update={"title": title, "place_words": title, "basis": title})
    if plan.feeder.setting_units:
        feeder = feeder.model_copy(update={"setting_units": {**plan.feeder.setting_units, title: title}})
    reply = plan.variations[0].reply.model_copy(update={"words": title})
    variation = plan.variations[0].model_copy(update={"title": title, "when": title, "reply": reply, "notes": (title,)})
    shot = plan.shots[0].model_copy(update={"id": title, "feed": title, "words": {"height": title}, "notes": (title,)})
    blocks = [block.model_copy(update={"shots": named(*block.shots)}) for block in plan.blocks]
    blocks[0] = blocks[0].model_copy(update={"words": title, "notes": (title,)})
    launches = [ball.model_copy(update={"shot": ball.shot and named(ball.shot)[0], "any_of": named(*ball.any_of)})
                for ball in plan.launches]  # fmt: skip
    return plan.model_copy(
        update={
            "program": title,
            "session": title,
            "notes": (title,),
            "feeder": feeder,
            "ball": plan.ball.model_copy(update={"name": title}),
            "court": plan.court.model_copy(update={"name": title}),
            "surface": plan.surface.model_copy(update={"name": title}),
            "variations": (variation, *plan.variations[1:]),
            "shots": (shot, *plan.shots[1:]),
            "blocks": tuple(blocks),
            "launches": tuple(launches),
        }
    ).sealed()


def straight(plan: Plan) -> dict[str, list[tuple[float, float, float, float]]]:
    """Paths for pictures where the flight does not matter: launch, landing, contact joined by lines."""
    paths = {}
    for shot in plan.shots:
        seen = shot.predicted
        points = [(0.0, *shot.launch.origin_m)]
        if seen.landing_m is not None and seen.landing_s is not None:
            points.append((seen.landing_s, *seen.landing_m, 0.0335))
        paths[shot.id] = [*points, (seen.contact_s, *seen.contact_m)]
    return paths
