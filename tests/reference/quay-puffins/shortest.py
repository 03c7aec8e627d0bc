"""For the invented example *Quay puffins*: shortest paths over a surface known only as points.

Paths run by the equation of straightest motion: the acceleration has no part in the surface.
First and second derivatives come from a nine-point stencil. `polyline_length` finds the same
lengths another way (shortening a chain of 400 chords) and is used to check this module.
"""

import numpy as np
from scipy.optimize import minimize

STENCIL = 0.25  # mm of chart: truncation about 1e-7 of a curvature, rounding about 1e-12


def frame(surface, ab):
    """Derivatives by the chart: X, Xa, Xb, Xaa, Xab, Xbb, each (..., 3)."""
    h = STENCIL
    o = np.array(
        [[0, 0], [h, 0], [-h, 0], [0, h], [0, -h], [h, h], [h, -h], [-h, h], [-h, -h]]
    )
    x = surface.at(np.asarray(ab)[None, ...] + o.reshape((9,) + (1,) * (np.ndim(ab) - 1) + (2,)))
    xa, xb = (x[1] - x[2]) / (2 * h), (x[3] - x[4]) / (2 * h)
    xaa, xbb = (x[1] - 2 * x[0] + x[2]) / h**2, (x[3] - 2 * x[0] + x[4]) / h**2
    xab = (x[5] - x[6] - x[7] + x[8]) / (4 * h * h)
    return x[0], xa, xb, xaa, xab, xbb


def _in_chart(xa, xb, vector):
    """Chart components of the part of a space vector that lies in the surface."""
    e, f, g = (xa * xa).sum(-1), (xa * xb).sum(-1), (xb * xb).sum(-1)
    p, q = (vector * xa).sum(-1), (vector * xb).sum(-1)
    det = e * g - f * f
    return np.stack([(g * p - f * q) / det, (e * q - f * p) / det], -1)


def _acceleration(surface, ab, w):
    _, xa, xb, xaa, xab, xbb = frame(surface, ab)
    a, b = w[..., :1], w[..., 1:]
    return -_in_chart(xa, xb, xaa * a * a + 2 * xab * a * b + xbb * b * b)


def go(surface, ab, w):
    """Straight ahead from ab with chart velocity w for one unit of time: end and end velocity."""
    n = surface.face.steps
    h = 1.0 / n
    ab, w = np.array(ab, float), np.array(w, float)
    for _ in range(n):
        k1 = _acceleration(surface, ab, w)
        k2 = _acceleration(surface, ab + h / 2 * w, w + h / 2 * k1)
        k3 = _acceleration(surface, ab + h / 2 * w + h * h / 4 * k1, w + h / 2 * k2)
        k4 = _acceleration(surface, ab + h * w + h * h / 2 * k2, w + h * k3)
        ab = ab + h * w + h * h / 6 * (k1 + k2 + k3)
        w = w + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return ab, w


def aim(surface, start, end):
    """Chart velocities that go from each start to each end in one unit of time."""
    start, end = np.broadcast_arrays(start, end)
    w = end - start
    eps = 1e-3
    batch = np.stack([w, w + [eps, 0], w + [0, eps]])
    got, _ = go(surface, np.broadcast_to(start, batch.shape), batch)
    # The Jacobian of the first aim serves all later ones: each still gains two digits or more.
    back = np.linalg.inv(np.stack([(got[1] - got[0]) / eps, (got[2] - got[0]) / eps], -1))
    miss = end - got[0]
    for _ in range(40):
        if np.abs(miss).max() < 1e-7:
            return w
        w = w + (back @ miss[..., None])[..., 0]
        miss = end - go(surface, start, w)[0]
    raise RuntimeError("no shortest path found")


def length(surface, ab, w):
    _, xa, xb, *_ = frame(surface, ab)
    v = xa * w[..., :1] + xb * w[..., 1:]
    return np.sqrt((v * v).sum(-1))


def over(surface, start, end):
    """Distances over the surface."""
    return length(surface, start, aim(surface, start, end))


def straight(surface, start, end):
    """Straight distances through the air."""
    return np.sqrt(((surface.at(end) - surface.at(start)) ** 2).sum(-1))


def in_space(surface, ab, w):
    """A chart velocity as a vector in space."""
    _, xa, xb, *_ = frame(surface, ab)
    return xa * w[..., :1] + xb * w[..., 1:]


def in_chart(surface, ab, vector):
    _, xa, xb, *_ = frame(surface, ab)
    return _in_chart(xa, xb, vector)


def outward(surface, ab):
    _, xa, xb, *_ = frame(surface, ab)
    n = np.cross(xa, xb)
    return n / np.sqrt((n * n).sum(-1, keepdims=True))


def polyline_length(surface, start, end, chords=400, waves=7):
    """The same length, on one casting, by shortening a chain of chords bent by a few sine waves."""
    t = np.linspace(0, 1, chords + 1)
    basis = np.sin(np.pi * t[:, None] * np.arange(1, waves + 1))
    line = start + t[:, None] * (np.asarray(end) - start)

    def chain(c):
        x = surface.at((line + basis @ c.reshape(waves, 2))[None])[0]
        return np.sqrt((np.diff(x, axis=0) ** 2).sum(-1)).sum()

    found = minimize(chain, np.zeros(2 * waves), method="BFGS", options={"gtol": 1e-6})
    return found.fun
