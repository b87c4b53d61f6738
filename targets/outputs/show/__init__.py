"""The picture: what each ball of a plan does, for a terminal and as a page for any browser.

A plan holds launches, not flights, and a target flies nothing: `paths` comes from who does, the (t, x, y, z) of each
shot's centre by its id, in s and m in the plan's frame, from the launch over the bounce to the contact.
"""

from collections.abc import Mapping, Sequence

Paths = Mapping[str, Sequence[tuple[float, float, float, float]]]
