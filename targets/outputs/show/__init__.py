"""The picture: what each ball of a plan does, for a terminal and as a page for any browser.

A plan holds launches, not flights, and a target computes no flight, so the caller passes `paths`: by shot id the (t, x,
y, z) of the centre, in s and m in the plan's frame, from the launch over the bounce to the contact.
"""

from collections.abc import Mapping, Sequence

Paths = Mapping[str, Sequence[tuple[float, float, float, float]]]
