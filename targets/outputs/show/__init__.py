"""The picture: what each ball of a plan does, for a terminal and as a page for any browser.

A plan holds launches, not flights, and a target computes no flight, so the caller passes `paths`: by shot id the (t, x,
y, z) of the centre, in s and m in the plan's frame, from the launch over the bounce to the contact.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

Path = Sequence[tuple[float, float, float, float]]
Paths = Mapping[str, Path]
Replies = Mapping[str, Sequence[Path]]
"""By shot id the best reply from the contact to the ground, then the lower and the higher end of the player's scatter
and its two ends across."""
NO_REPLIES: Replies = MappingProxyType({})
