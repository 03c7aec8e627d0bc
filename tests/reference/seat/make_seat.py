"""Random seats and pairings solved by scipy, for tests/suite/seat.rs.

    python make_seat.py           # needs numpy and scipy; writes pose.json and pairs.json

Shares no formula with the core: the place is a rotation vector and a shift, derivatives are
scipy's differences, pairs come from its linear_sum_assignment and maximum_bipartite_matching.
"""

import json
import pathlib

import numpy as np
from scipy.optimize import least_squares, linear_sum_assignment
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).resolve().parent
KINDS = ["gap", "stop", "distance", "along", "level", "parallel"]


def unit(rng):
    v = rng.normal(size=3)
    return v / np.linalg.norm(v)


def value(loc, turn, shift):
    at = lambda p: turn.apply(p) + shift  # noqa: E731
    k = loc["kind"]
    if k in ("gap", "along"):
        return np.dot(loc["n"], at(loc["f"]) - loc["b"])
    if k == "stop":
        return np.dot(turn.apply(loc["n"]), loc["b"] - at(loc["f"]))
    if k == "distance":
        return np.linalg.norm(at(loc["f"]) - loc["b"])
    if k == "level":
        return np.dot(loc["n"], at(loc["f"]) - at(loc["g"]))
    return loc["over"] * np.dot(loc["n"], turn.apply(loc["g"]))


def locator(rng, kind):
    loc = {"kind": kind, "n": unit(rng), "f": rng.uniform(-150, 150, 3), "within": rng.uniform(0.2, 1.5)}
    if kind in ("gap", "along", "stop"):
        loc["b"] = loc["f"] + rng.normal(0, 4, 3)
    elif kind == "distance":
        loc["b"] = loc["f"] + unit(rng) * rng.uniform(60, 200)
    elif kind == "level":
        loc["g"] = rng.uniform(-150, 150, 3)
    else:
        loc["g"] = unit(rng)
        loc["over"] = rng.uniform(50, 200)
    return loc


def pose_case(rng, count):
    locs = [locator(rng, KINDS[i] if i < len(KINDS) else rng.choice(KINDS[:4])) for i in range(count)]
    if count == 6:
        locs[4:] = [locator(rng, k) for k in ("gap", "along")]
    true = Rotation.from_rotvec(rng.normal(0, 0.03, 3)), rng.normal(0, 3, 3)
    for loc in locs:
        noise = 0.0 if count == 6 else rng.normal(0, loc["within"])
        loc["reads"] = value(loc, *true) + noise
    turned = lambda x: (Rotation.from_rotvec(x[:3]), x[3:])  # noqa: E731
    misfit = lambda x: np.array([(value(q, *turned(x)) - q["reads"]) / q["within"] for q in locs])  # noqa: E731
    x, scale = np.zeros(6), [0.01, 0.01, 0.01, 1, 1, 1]
    for _ in range(3):
        x = least_squares(misfit, x, jac="3-point", x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15).x

    def differences(of, x):
        out = []
        for k in range(6):
            h = np.zeros(6)
            h[k] = 1e-4 * scale[k]
            out.append((of(x + h) - of(x - h)) / (2 * h[k]))
        return np.array(out).T

    j = differences(misfit, x)
    if np.linalg.cond(j * scale) > 300 or np.abs(x[:3]).max() > 0.3:
        return None
    point = rng.uniform(-200, 200, 3)
    at = lambda x: turned(x)[0].apply(point) + x[3:]  # noqa: E731
    d = differences(at, x)
    covariance = d @ np.linalg.inv(j.T @ j) @ d.T
    moves = d @ np.linalg.pinv(j) / np.array([q["within"] for q in locs])
    plain = lambda v: v.tolist() if isinstance(v, np.ndarray) else v  # noqa: E731
    return {
        "locators": [{k: plain(v) for k, v in q.items()} for q in locs],
        "point": point.tolist(),
        "at": at(x).tolist(),
        "moves": moves.T.tolist(),
        "covariance": covariance.tolist(),
        "sum": float((misfit(x) ** 2).sum()),
    }


def pairs_case(rng, n):
    cost = rng.integers(0, rng.choice([5, 40, 5000]), (n, n))
    low, high = 0, int(cost.max())
    while low < high:
        mid = (low + high) // 2
        match = maximum_bipartite_matching(csr_matrix(cost <= mid), perm_type="column")
        low, high = (low, mid) if (match >= 0).all() else (mid + 1, high)
    big = int(cost.sum()) + 1
    rows, cols = linear_sum_assignment(np.where(cost <= low, cost, big))
    return {"costs": cost.tolist(), "worst": low, "sum": int(cost[rows, cols].sum())}


def main():
    rng = np.random.default_rng(20261125)
    poses = []
    while len(poses) < 60:
        case = pose_case(rng, int(rng.integers(6, 12)))
        if case:
            poses.append(case)
    (HERE / "pose.json").write_text(json.dumps(poses, separators=(",", ":")) + "\n")
    pairs = [pairs_case(rng, int(n)) for n in rng.integers(1, 25, 80)]
    (HERE / "pairs.json").write_text(json.dumps(pairs, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
