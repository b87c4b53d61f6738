"""A plan flown a second time, from the document alone, by code that shares nothing with the compiler.

scipy.integrate.solve_ivp (DOP853, rtol 1e-10) with the force law of A. Štěpánek, Am. J. Phys. 56, 138 (1988) and the
bounce of R. Cross, Am. J. Phys. 70, 1093 (2002), written here in plain scalars from the papers' formulas.
"""

from math import cos, hypot, pi, radians, sin, sqrt
from typing import Any

from scipy.integrate import solve_ivp


class Reference:
    def __init__(self, plan: dict[str, Any]) -> None:
        self.ball, self.air, self.surface, self.court = plan["ball"], plan["air"], plan["surface"], plan["court"]
        self.radius = self.ball["diameter_m"] / 2

    def fly(self, start: list[float], spin: list[float], level: float) -> Any:
        """Until the centre falls through `level`, with a dense solution."""
        turning = sqrt(sum(s * s for s in spin))
        push = self.air["density_kg_m3"] * pi * self.radius**2 / (2 * self.ball["mass_kg"])
        wx, wy, wz = self.air["wind_mps"]

        def motion(_: float, s: Any) -> list[float]:
            vx, vy, vz = s[3] - wx, s[4] - wy, s[5] - wz
            v = sqrt(vx * vx + vy * vy + vz * vz)
            drag, lift = self.ball["drag_offset"], 0.0
            if turning:
                q = v / (self.radius * turning)
                drag += self.ball["spin_drag"] / (22.503 + 4.196 * q**2.5) ** 0.4
                lift = 1 / (2.022 + 0.981 * q) / turning
            sx, sy, sz = spin
            return [
                s[3], s[4], s[5],
                push * v * (lift * (sy * vz - sz * vy) - drag * vx),
                push * v * (lift * (sz * vx - sx * vz) - drag * vy),
                push * v * (lift * (sx * vy - sy * vx) - drag * vz) - 9.81,
            ]  # fmt: skip

        def ground(_: float, s: Any) -> float:
            return float(s[2] - level)

        ground.terminal, ground.direction = True, -1  # type: ignore[attr-defined]
        return solve_ivp(motion, (0, 12), start, "DOP853", rtol=1e-10, atol=1e-10, dense_output=True, events=ground)

    def restitution(self, velocity: list[float]) -> float:
        """As the page of the plan tells it: straight down at 6.9 m/s, and at 30 m/s and 16 degrees."""
        drop, power = self.surface["drop_restitution"], self.surface["loss_growth"]

        def straight(fall: float) -> float:
            return 1 - (1 - drop) * (fall / 6.9) ** power

        level, fall = hypot(velocity[0], velocity[1]), -velocity[2]
        more = self.surface["restitution"] / straight(30 * sin(radians(16))) - 1
        along = level**2 / (level**2 + fall**2) / cos(radians(16)) ** 2
        return min(max(straight(fall) * (1 + more * along), 0.05), 1.0)

    def bounce(self, s: list[float], spin: list[float]) -> tuple[list[float], list[float]]:
        """In the plane of the slip velocity; slip u = v_h + spin x (-R up)."""
        alpha, mu, e_x = self.ball["inertia_factor"], self.surface["friction"], self.surface["grip"]
        e = self.restitution(s[3:])
        ux, uy = s[3] - self.radius * spin[1], s[4] + self.radius * spin[0]
        slip, fall = hypot(ux, uy), -s[5]
        slides = mu < alpha * (1 + e_x) * slip / ((1 + alpha) * (1 + e) * fall)
        lost = mu * (1 + e) * fall if slides else alpha * (1 + e_x) * slip / (1 + alpha)
        jx, jy = -lost * ux / slip, -lost * uy / slip
        turned = [spin[0] + jy / (alpha * self.radius), spin[1] - jx / (alpha * self.radius), spin[2]]
        return [s[0], s[1], s[2], s[3] + jx, s[4] + jy, e * fall], turned

    @staticmethod
    def plane(flight: Any, y: float) -> tuple[float, Any]:
        """Time and state where the centre crosses y, by bisection of the dense solution."""
        low, high = 0.0, float(flight.t[-1])
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if flight.sol(middle)[1] < y else (low, middle)
        return low, flight.sol(low)


def launched(launch: dict[str, Any]) -> tuple[list[float], list[float]]:
    up, around, speed = radians(launch["elevation_deg"]), radians(launch["azimuth_deg"]), launch["speed_mps"]
    top, side = (launch[name] * 2 * pi / 60 for name in ("topspin_rpm", "sidespin_rpm"))
    velocity = [speed * cos(up) * sin(around), speed * cos(up) * cos(around), speed * sin(up)]
    # Topspin about the horizontal to the left of the flight, sidespin about the upward normal to it.
    left, normal = [-cos(around), sin(around), 0.0], [-sin(up) * sin(around), -sin(up) * cos(around), cos(up)]
    return [*launch["origin_m"], *velocity], [top * a + side * b for a, b in zip(left, normal, strict=True)]


def broken(plan: dict[str, Any], shot: dict[str, Any]) -> list[str]:
    """Which of the page's guarantees the launch of a shot breaks: net, posts, lines, stance, bounces, ceiling.

    2 mm more than nothing are let pass: the rounding of a launch moves a flight by less.
    """
    reference, court, wrong = Reference(plan), plan["court"], []
    start, spin = launched(shot["launch"])
    full, near = shot["predicted"]["landing_m"] is None, 0.002
    flight = reference.fly(start, spin, -3.0 if full else reference.radius)
    flights, bounces = [flight], 0
    if start[1] < 0:
        _, over = reference.plane(flight, 0.0)
        rise = (court["net_post_m"] - court["net_centre_m"]) * abs(over[0]) / court["post_x_m"]
        if over[2] - reference.radius < court["net_centre_m"] + rise - near or abs(over[0]) > court["post_x_m"] + near:
            wrong.append("net")
    if not full:
        x, y = flight.y[:2, -1]
        # In is what touches a line: one radius outside of it (the page of the programs takes the same).
        if abs(x) > court["half_width_m"] + reference.radius + near or not (
            0 < y <= court["half_length_m"] + reference.radius + near
        ):
            wrong.append("lines")
        while flight.y[1, -1] < shot["stance_y_m"] and bounces < (2 if plan["player"]["two_bounces"] else 1):
            bounces += 1
            after, spin = reference.bounce(flight.y[:, -1].tolist(), spin)
            flight = reference.fly(after, spin, reference.radius)
            flights.append(flight)
    when, contact = reference.plane(flight, shot["stance_y_m"])
    if abs(contact[1] - shot["stance_y_m"]) > near or contact[2] < reference.radius - near:
        wrong.append("stance")
    if bounces != shot["predicted"]["bounces"]:
        wrong.append("bounces")
    if court["ceiling_m"] is not None:
        ends = [*(float(one.t[-1]) for one in flights[:-1]), when]
        tops = [one.sol(end * k / 400)[2] for one, end in zip(flights, ends, strict=True) for k in range(401)]
        if max(tops) + reference.radius > court["ceiling_m"] + 0.01:
            wrong.append("ceiling")
    return wrong
