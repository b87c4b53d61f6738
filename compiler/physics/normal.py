"""Shares of normal distributions: between two edges, and in a box."""

import numpy as np

from .flight import Array


def _quadrature(count: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss and Legendre on -1 to 1, from the eigenvalues of the recurrence: G. H. Golub & J. H.
    Welsch, Math. Comput. 23, 221 (1969). numpy's own would load all its families of polynomials."""
    order = np.arange(1.0, count)
    beside = order / np.sqrt(4 * order * order - 1)
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    return nodes, 2 * vectors[0] ** 2


NODES, WEIGHTS = _quadrature(12)


def normal_in_box(mean: Array, covariance: Array, low: Array, high: Array) -> Array:
    """Share (n,) of normal distributions, `mean` (k, n) and `covariance` (k, k, n), within `low` to `high` (k, n).

    Gauss-Legendre quadrature over the first axis of the conditional normals of the others, which count as independent
    of one another given the first; so it is exact for k = 2, to about 1e-6, most of it from the error function. The
    quadrature is cut where the conditional normals pass an edge, so it holds for any correlation. Without scatter the
    share is 1 or 0, and 1/2 on an edge itself.
    """
    tiny = 1e-12  # m, in place of no scatter
    spread = np.maximum(np.sqrt(covariance[0, 0]), tiny)
    slope = covariance[1:, 0] / spread
    rest = np.maximum(np.sqrt(np.maximum(covariance[range(1, len(mean)), range(1, len(mean))] - slope**2, 0.0)), tiny)
    steep = np.where(np.abs(slope) < tiny, tiny, slope)
    passes = np.concatenate([(low[1:] - mean[1:]) / steep, (high[1:] - mean[1:]) / steep])
    width = np.tile(rest / np.abs(steep), (2, 1))
    far = 6.0  # standard deviations; 2e-9 lies beyond
    cuts = [passes + share * width for share in (-5.0, -2.0, 0.0, 2.0, 5.0)]
    cuts.append(np.broadcast_to(np.array([[-far], [-far / 2], [0.0], [far / 2], [far]]), (5, len(spread))))
    first, last = (np.clip((edge[0] - mean[0]) / spread, -far, far) for edge in (low, high))
    pieces = np.sort(np.clip(np.concatenate(cuts), first, np.maximum(first, last)), axis=0)
    half = np.diff(pieces, axis=0) / 2
    u = pieces[:-1] + half * (1 + NODES[:, None, None])
    density = np.exp(-(u**2) / 2) / np.sqrt(2 * np.pi)
    for axis in range(1, len(mean)):
        density *= within(mean[axis] + slope[axis - 1] * u, rest[axis - 1], low[axis], high[axis])
    # One after the other: numpy adds up a batch of one in another order.
    inside = sum(sum(weight * part * half for weight, part in zip(WEIGHTS, density, strict=True)))
    return np.asarray(np.clip(inside, 0.0, 1.0))


def within(mean: Array, deviation: Array, low: Array | float, high: Array | float) -> Array:
    """Share of a normal distribution between two edges."""
    scale = np.sqrt(2) * np.maximum(deviation, 1e-12)
    return np.asarray((erf((high - mean) / scale) - erf((low - mean) / scale)) / 2)


def erf(x: Array) -> Array:
    """Error function, within 1.5e-7: Abramowitz & Stegun, Handbook of Mathematical Functions (1964), 7.1.26."""
    size = np.abs(x)
    t = 1 / (1 + 0.3275911 * size)
    series = t * 1.061405429
    for term in (-1.453152027, 1.421413741, -0.284496736, 0.254829592):  # in place: a third less time where x is large
        series += term
        series *= t
    series *= np.exp(np.negative(np.square(np.minimum(size, 40.0, out=size), size), size), size)
    return np.copysign(np.subtract(1, series, series), x, series)
