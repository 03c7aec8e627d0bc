"""Networks with levels, plumb lines and heights, adjusted by scipy.

Shares no code and no formulas with the core. Places are points in space from the definition of each
chart; up is a unit vector by its two angles; a level is the difference of two heights, a plumb
reading the sideways part of the arm between two marks seen along the outward normal, a height the
height above an unknown line. The plane's heights are shortened by one unknown share, as a lean does.
Solved by scipy's trust region on residuals, derivatives by differences; the marks' common motion is
held by stiff rows on the sum of their shifts.

    python levelled.py          writes levelled.json

Needs numpy and scipy. The seed is fixed; the file is committed beside this script.
"""

import json
import os

import numpy as np
from scipy.optimize import least_squares

HERE = os.path.dirname(os.path.abspath(__file__))
# What is known of a stance beforehand: turn (rad), lean (rad; on a plane a share), line (mm).
TURN, LEAN, SHARE, LINE = 1.0, 0.26, 0.034, 10000.0


def space(kind, r, p):
    u, v = p
    if kind == "flat":
        return np.array([0.0, u, v])
    if kind == "cylinder":
        return np.array([r * np.cos(u / r), r * np.sin(u / r), v])
    s = np.hypot(u, v)
    c = s / r
    k = np.sin(c) / c if c > 1e-9 else 1.0
    return np.array([r * np.cos(c), k * u, k * v])


def normal(kind, r, p):
    if kind == "flat":
        return np.array([1.0, 0.0, 0.0])
    x = space(kind, r, p)
    if kind == "cylinder":
        x = np.array([x[0], x[1], 0.0])
    return x / np.linalg.norm(x)


def up(kind, turn, lean):
    along = np.array([0.0, -np.sin(turn), np.cos(turn)])
    if kind == "flat":
        return along * (1 + lean)
    return along * np.cos(lean) + np.array([np.sin(lean), 0.0, 0.0])


def generators(kind, r, p, centre):
    """Motions of the marks over the face, at the start."""
    if kind == "flat":
        arm = p - centre
        return [np.array([1.0, 0.0]), np.array([0.0, 1.0]), np.array([-arm[1], arm[0]])]
    if kind == "cylinder":
        return [np.array([1.0, 0.0]), np.array([0.0, 1.0])]
    # A ball: what three small turns do to the chart, by differences.
    out = []
    for axis in np.eye(3):
        x, h = space(kind, r, p), 1e-6
        def chart(y):
            c = np.arccos(np.clip(y[0] / r, -1, 1))
            k = 1.0 if c < 1e-9 else c / np.sin(c)
            return np.array([k * y[1], k * y[2]])
        out.append((chart(x + h * np.cross(axis, x)) - chart(x - h * np.cross(axis, x))) / (2 * h))
    return out


def solve(rng, kind):
    r = {"flat": 0.0, "cylinder": 260.0, "dome": 230.0}[kind]
    marks = 4
    start = np.array([[-120.0, -40.0], [110.0, -55.0], [-70.0, 95.0], [85.0, 70.0]])
    start = start + rng.uniform(-15, 15, start.shape)
    truth = start + rng.normal(0, 1.0, start.shape)
    turn, lean = rng.uniform(-0.05, 0.05), rng.uniform(-0.04, 0.0)
    line = rng.uniform(-300, 300)
    readings = []
    for i in range(marks):
        for j in range(i):
            d = np.linalg.norm(space(kind, r, truth[i]) - space(kind, r, truth[j]))
            readings.append(["straight", j, i, d + rng.normal(0, 0.4), 0.4])
    n0 = lambda k: normal(kind, r, start[k])
    u = up(kind, turn, lean)
    at = [space(kind, r, p) for p in truth]
    sideways = lambda way, k: np.cross(way, n0(k)) / np.linalg.norm(np.cross(way, n0(k)))
    readings.append(["level", 0, 1, u @ (at[1] - at[0]) + rng.normal(0, 0.5), 0.5])
    readings.append(["level", 2, 3, u @ (at[3] - at[2]) + rng.normal(0, 0.5), 0.5])
    readings.append(["plumb", 2, 0, sideways(u, 2) @ (at[0] - at[2]) + rng.normal(0, 0.6), 0.6])
    for k in range(marks):
        readings.append(["height", k, k, u @ at[k] - line + rng.normal(0, 0.7), 0.7])

    x0 = np.concatenate([start.ravel(), [0.0, 0.0, 0.0]])
    centre = start.mean(axis=0)
    hold = []
    for g in zip(*[generators(kind, r, p, centre) for p in start]):
        row = np.concatenate(list(g) + [np.zeros(3)])
        hold.append(row / np.linalg.norm(row))

    def model(x):
        p, (a, b, h) = x[: 2 * marks].reshape(-1, 2), x[2 * marks :]
        way, out = up(kind, a, b), []
        at = [space(kind, r, q) for q in p]
        for what, i, j, _, _ in readings:
            if what == "straight":
                out.append(np.linalg.norm(at[j] - at[i]))
            elif what == "level":
                out.append(way @ (at[j] - at[i]))
            elif what == "plumb":
                out.append(sideways(way, i) @ (at[j] - at[i]))
            else:
                out.append(way @ at[j] - h)
        return np.array(out)

    value = np.array([r[3] for r in readings])
    sd = np.array([r[4] for r in readings])
    spread = np.array([TURN, SHARE if kind == "flat" else LEAN, LINE])

    def rest(x):
        return np.concatenate([
            (model(x) - value) / sd,
            x[2 * marks :] / spread,
            [row @ (x - x0) / 1e-3 for row in hold],
        ])

    got = least_squares(rest, x0, jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac")
    q = np.linalg.inv(got.jac.T @ got.jac)
    p = got.x[: 2 * marks].reshape(-1, 2)
    distances, sds = [], []
    for i in range(marks):
        for j in range(i):
            f = lambda x: np.linalg.norm(
                space(kind, r, x[2 * i : 2 * i + 2]) - space(kind, r, x[2 * j : 2 * j + 2])
            )
            grad = np.array([(f(got.x + 1e-4 * e) - f(got.x - 1e-4 * e)) / 2e-4 for e in np.eye(len(got.x))])
            distances.append(f(got.x))
            sds.append(float(np.sqrt(grad @ q @ grad)))
    off = model(got.x) - value
    return {
        "kind": kind,
        "radius": r,
        "start": start.tolist(),
        "readings": readings,
        "distances": distances,
        "sds": sds,
        "off": off.tolist(),
        "turn": got.x[2 * marks],
        "sum": float(np.sum((off / sd) ** 2)),
    }


if __name__ == "__main__":
    rng = np.random.default_rng(20261127)
    cases = [solve(rng, kind) for kind in ("flat", "cylinder", "dome") for _ in range(8)]
    with open(os.path.join(HERE, "levelled.json"), "w") as f:
        json.dump(cases, f, indent=None, separators=(",", ":"))
        f.write("\n")
