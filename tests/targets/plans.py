"""Two small plans of an invented club, written by hand: one for a person with a racket, one for a machine.

The figures of flight are plausible, not computed: targets print what a plan says and know no physics.
"""

from feedwright.compiler.model.conditions import AirRecord, BallRecord, CourtRecord, SurfaceRecord
from feedwright.compiler.model.plan import (
    Block,
    FeederRecord,
    Launch,
    LaunchTime,
    PartRecord,
    Plan,
    PlayerRecord,
    Predicted,
    ReplyTarget,
    Shot,
    SourceRecord,
    Totals,
    VariationRecord,
)

PERSON = FeederRecord(
    kind="person",
    name="assistant",
    title="Assistant coach of the Fenmoor club (invented)",
    fingerprint="0f1e2d3c4b5a6978",
    how="racket",
    place_m=(0.0, -6.4),
    place_words="on centre, at the service line",
    release_height_m=0.9,
    players_side=False,
    screen=False,
    setting_units={},
    hopper=None,
    basis="invented example",
)
MACHINE = FeederRecord(
    kind="machine",
    name="club",
    title="Two wheels of the Fenmoor club (invented)",
    fingerprint="8a7b6c5d4e3f2a1b",
    how="machine",
    place_m=(0.0, -12.385),
    place_words="on centre, 0.5 m behind baseline",
    release_height_m=0.6,
    players_side=False,
    screen=False,
    setting_units={"upper wheel": "rpm", "lower wheel": "rpm", "elevation": "deg", "head": "deg"},
    hopper=120,
    basis="invented example",
)
COURT = CourtRecord(
    name="singles",
    half_length_m=11.885,
    half_width_m=4.115,
    service_m=6.4,
    net_centre_m=0.914,
    net_post_m=1.07,
    post_x_m=6.4,
    doubles_half_width_m=5.485,
)
RALLY = VariationRecord(
    id="rally",
    title="deep and clear of the net",
    when="nobody is ahead in the point",
    reply=ReplyTarget(
        words="deep, at least 1.2 m over net, topspin 1200 rpm",
        zone_m=(-4.115, 4.115, -11.885, -9.0),
        over_net_m=1.2,
        topspin_rpm=1200.0,
        sidespin_rpm=None,
        speed_mps=None,
    ),
    goal={"hits": 8, "among": 8},
    notes=(),
)
CLIMB = VariationRecord(
    id="climb",
    title="high and deep, to win back time",
    when="pushed behind the baseline",
    reply=ReplyTarget(
        words="deep, at least 3 m over net, topspin 1500 rpm",
        zone_m=(0.0, 4.115, -11.885, -8.0),
        over_net_m=3.0,
        topspin_rpm=1500.0,
        sidespin_rpm=None,
        speed_mps=None,
    ),
    goal={"hits": 5, "among": 5},
    notes=("Turn the shoulders early.",),
)


def make_shot(machine: bool, **changes: object) -> Shot:
    """The steady ball; changes replace whole fields."""
    shot = Shot(
        id="steady",
        feed="steady",
        variation="rally",
        words={"side": "backhand corner", "depth": "1 to 3 m inside baseline", "height": "waist, falling"},
        interval_s=4.0,
        zone_m=(1.5, 4.115, 8.885, 10.885),
        stance_y_m=12.885,
        settings={"upper wheel": 2850.0, "lower wheel": 2410.0, "elevation": 11.5, "head": 7.0} if machine else {},
        launch=Launch(
            origin_m=(0.0, -6.4, 0.9),
            speed_mps=19.4445,
            elevation_deg=11.5,
            azimuth_deg=7.0005,
            topspin_rpm=900.05,
            sidespin_rpm=0.0,
        ),
        predicted=Predicted(
            net_clearance_m=1.42,
            net_x_m=0.9,
            landing_m=(2.6, 9.9),
            landing_s=1.24,
            landing_speed_mps=14.2,
            contact_m=(2.95, 12.885, 1.03),
            contact_s=1.61,
            contact_speed_mps=11.3,
            contact_phase="falling",
            bounces=1,
            peak_m=2.4,
        ),
        spread=None,
        reply=None,
        notes=(),
    )
    return shot.model_copy(update=changes)


def make_kicker(machine: bool) -> Shot:
    shot = make_shot(machine)
    return shot.model_copy(
        update={
            "id": "kicker",
            "feed": "kicker",
            "variation": "climb",
            "words": {"side": "backhand corner", "height": "shoulder"},
            "interval_s": 4.5,
            "settings": {"upper wheel": 3300.0, "lower wheel": 1950.0, "elevation": 19.25, "head": 7.5}
            if machine
            else {},
            "launch": shot.launch.model_copy(
                update={"speed_mps": 21.0, "elevation_deg": 19.25, "topspin_rpm": 2000.0, "sidespin_rpm": -350.0}
            ),
            "predicted": shot.predicted.model_copy(
                update={
                    "net_clearance_m": 2.1,
                    "landing_m": (2.4, 9.4),
                    "contact_m": (2.9, 12.885, 1.42),
                    "contact_phase": "rising",
                    "bounces": 1,
                }
            ),
        }
    )


def make_plan(machine: bool, program: str = "Baseline pairs") -> Plan:
    """4 balls steady; rest 20 s; mix of 6; collect (a new part); two rounds of 3 steady and 2 kickers."""

    def block(index: int, kind: str, words: str, part: int, start: float, last: float, **more: object) -> Block:
        fields = {"balls": 0, "order": None, "shots": (), "round": None, "notes": (), **more}
        return Block(index=index, kind=kind, words=words, part=part, start_s=start, end_s=start + last, **fields)

    steady, kicker = ("steady",), ("kicker",)
    blocks = (
        block(0, "balls", "4 balls steady", 0, 0.0, 16.0, balls=4, order="same", shots=steady),
        block(1, "rest", "rest 20 s", 0, 16.0, 20.0),
        block(2, "balls", "6 balls mix steady 2, kicker 1, at most 2 alike", 0, 36.0, 26.0, balls=6, order="mix",
              shots=("steady", "kicker"), notes=("Call the letter late.",)),
        block(3, "collect", "collect", 0, 62.0, 60.0),
        block(4, "balls", "3 balls steady", 1, 122.0, 12.0, balls=3, order="same", shots=steady, round=(1, 2)),
        block(5, "balls", "2 balls kicker", 1, 134.0, 9.0, balls=2, order="same", shots=kicker, round=(1, 2)),
        block(6, "balls", "3 balls steady", 1, 143.0, 12.0, balls=3, order="same", shots=steady, round=(2, 2)),
        block(7, "balls", "2 balls kicker", 1, 155.0, 9.0, balls=2, order="same", shots=kicker, round=(2, 2)),
    )  # fmt: skip
    s, k = "steady", "kicker"
    fed = [
        *((t, s, 0) for t in (0.0, 4.0, 8.0, 12.0)),
        (36.0, s, 2), (40.0, k, 2), (44.5, s, 2), (48.5, s, 2), (52.5, k, 2), (57.0005, s, 2),
        (122.0, s, 4), (126.0, s, 4), (130.0, s, 4), (134.0, k, 5), (138.5, k, 5),
        (143.0, s, 6), (147.0, s, 6), (151.0, s, 6), (155.0, k, 7), (159.5, k, 7),
    ]  # fmt: skip
    plan = Plan(
        program=program,
        notes=("Invented example.",),
        session="Three minutes",
        source=SourceRecord(name="backhand.feed", sha256="ab" * 32),
        feeder=MACHINE if machine else PERSON,
        court=COURT,
        ball=BallRecord(
            name="type 2", mass_kg=0.0577, diameter_m=0.067, drag_offset=0.508, spin_drag=0.5, inertia_factor=0.55
        ),
        air=AirRecord(density_kg_m3=1.17, wind_mps=(0.0, 0.0, 0.0), temperature_c=24.0, altitude_m=0.0, humidity=0.5),
        surface=SurfaceRecord(
            name="hard", friction=0.63, restitution=0.81, drop_restitution=0.77, loss_growth=0.2, grip=0.13
        ),
        player=PlayerRecord(
            hand="right",
            stature_m=1.72,
            reach_m=0.7,
            reply_limit_mps=None,
            in_line=2,
            rotate_every=4,
            two_bounces=False,
            two_hands=False,
            level="club",
            scatter_angle_deg=2.5,
            scatter_direction_deg=3.75,
            scatter_pace=0.075,
        ),
        variations=(RALLY, CLIMB),
        shots=(make_shot(machine), make_kicker(machine)),
        launches=tuple(LaunchTime(at_s=at, shot=shot, block=index) for at, shot, index in fed),
        blocks=blocks,
        parts=(PartRecord(index=0, start_s=0.0, end_s=122.0), PartRecord(index=1, start_s=122.0, end_s=164.0)),
        totals=Totals(balls=20, duration_s=164.0, parts=2, distinct_shots=2, variety=0.5),
    )
    return plan.sealed()
