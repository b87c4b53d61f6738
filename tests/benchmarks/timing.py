"""How long something takes, on a machine that does other things as well."""

from collections.abc import Callable
from time import perf_counter


def best(work: Callable[[], object], times: int = 5) -> float:
    """The shortest of several runs, s: what the work itself takes, without what else the machine was at."""
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return min(taken)
