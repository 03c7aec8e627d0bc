"""For the invented example *Quay puffins*: where each feature ought to land, and its marks about it.

Rules (the project's own definitions): with A, B the marks, L their distance over the pattern and
L' over the casting, s the fraction along and q the signed square offset of the feature on the
pattern: *difference split* goes L'/2 + (s - 1/2) L along the shortest path from A to B, then q
square to it along another shortest path. *Best fit*: the nominal layout, laid rigidly so that the
squares of what its crosses are off by, measured over the surface about its centre, are least.
"""

import numpy as np

from shortest import aim, go, in_chart, in_space, length, outward

# Arrays are (casting, point, 2 or 3); a target is one point of each casting.


def _dot(a, b):
    return (a * b).sum(-1, keepdims=True)


def _unit(v):
    return v / np.sqrt(_dot(v, v))


def _walk(surface, a, w, along, across):
    """From a along the path aimed by w, `along` mm, then left by `across` mm: end, and the way left there."""
    foot, heading = go(surface, a, w * (along / length(surface, a, w)[..., None]))
    t = _unit(in_space(surface, foot, heading))
    left = np.cross(outward(surface, foot), t)
    # Never quite nothing, so that the way left can be read off the path's end.
    across = across or 1e-6
    end, heading = go(surface, foot, in_chart(surface, foot, left) * across)
    return end, _unit(in_space(surface, end, heading)) * np.sign(across)


def split_nominal(surface, a, b, centre):
    """L, s and q of a feature on the pattern."""
    w = aim(surface, a, b)
    total = length(surface, a, w).item()
    along, across = total / 2, 0.0
    for _ in range(40):
        end, left = _walk(surface, a, w, along, across)
        # What is missing, seen in the end's own tangent plane: right and left of it.
        miss = in_space(surface, end, centre - end)
        if np.abs(miss).max() < 1e-7:
            return total, along / total, across
        along += _dot(miss, np.cross(left, outward(surface, end))).item()
        across += _dot(miss, left).item()
    raise RuntimeError("the foot of the feature was not found")


def split_target(surface, a, b, nominal):
    """Target and the way up there, before the feature's own turn."""
    total, s, q = nominal
    w = aim(surface, a, b)
    along = length(surface, a, w)[..., None] / 2 + (s - 0.5) * total
    return _walk(surface, a, w, along, q)


def turned(surface, at, up, turn):
    """`up` turned anticlockwise as seen from outside."""
    return np.cos(turn) * up + np.sin(turn) * np.cross(outward(surface, at), up)


def layout(surface, at, up, marks):
    """Each mark by distance and direction over the surface from `at`: (x, y) with y along `up`."""
    across = np.cross(up, outward(surface, at))
    at = np.broadcast_to(at, marks.shape)
    v = in_space(surface, at, aim(surface, at, marks))
    return np.concatenate([_dot(v, across), _dot(v, up)], -1)


def level_up(surface, at, marks):
    """The way up at which the first two marks lie level with each other."""
    up = in_space(surface, at, np.broadcast_to([0.0, 1.0], at.shape))
    up = _unit(up)
    d = np.diff(layout(surface, at, up, marks[:, :2]), axis=1)
    return turned(surface, at, up, np.arctan2(d[..., 1:], d[..., :1]))


def best_fit_target(surface, marks, nominal, start):
    """Target, up, and what each cross is off by, for the nominal layout laid rigidly on the marks.

    At the least sum of squares the offs balance: they add up to nothing, and turn the layout
    neither way. (Distances seen from a moving centre shrink by about (d/R)^2/3, here 2 %, to the
    side; that moves the balance by less than 0.02 mm for offs of 1 mm.)
    """
    at = np.broadcast_to(start, marks[:, :1].shape)
    up = level_up(surface, at, marks)
    spin = (nominal**2).sum()
    for _ in range(30):
        off = layout(surface, at, up, marks) - nominal
        turn = (nominal[..., 0] * off[..., 1] - nominal[..., 1] * off[..., 0]).sum(-1)[:, None, None] / spin
        shift = off.mean(1, keepdims=True)
        if np.abs(shift).max() < 1e-6 and np.abs(turn).max() < 1e-8:
            return at, up, off
        up = turned(surface, at, up, turn)
        across = np.cross(up, outward(surface, at))
        # A little more than nothing, so that the way gone has a direction.
        gone = shift[..., :1] * across + (shift[..., 1:] + 1e-9) * up
        angle = np.arctan2(_dot(outward(surface, at), np.cross(gone, up)), _dot(gone, up))
        at, w = go(surface, at, in_chart(surface, at, gone))
        # Carry up along: it keeps its angle to the way gone, as seen from outside.
        up = turned(surface, at, _unit(in_space(surface, at, w)), angle)
    raise RuntimeError("the best fit did not settle")
