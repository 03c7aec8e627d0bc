"""One eye made three ways: an invented head, a scan of it, and where every place of an eye truly lies.

    python make.py      # numpy and scipy; a minute; seeded; writes truth.json and the two .radii files

Two heads. `carved` is the head of *Quay puffins* (../quay-puffins/shapes.py), all but a ball. `blended`
is that ball with a brow and a cheek blended into it, so that it is rounder one way than the other and
lies in no face kind exactly: for balls with distance functions s_i the head is where
-k log(sum(exp(-s_i / k))) = 0, found along each ray by Newton's method. Nothing is shared with core/:
there is no closed form for any distance on either; ways over them come from ../quay-puffins/shortest.py.

The scans are 174 x 174 cells of two triangles (60 552) over the eye, with a scanner's roughness: each
corner moved along its ray by a uniform chance of 0.08 mm either way. Kept are the rays' lengths in
micrometres as little-endian u32, rows upwards; `scan` in truth.json says where the rays go.

truth.json, for each head (mm, 0.001 or better; space as in shapes.py):
  marks, eye     places in space of A, B, C and of the eye's middle
  over           distances over the surface between them, by names
  straight_edge  for the level and the upright section through the eye's middle: a 100 mm straight-edge
                 rocked until both ends gap alike, and that gap, as it would be read (to 0.1 mm)
  ball           radius of the ball that fits best within 75 mm of the eye's middle
  outline        for 48 places of the eye (an oval 62 x 48 laid about its middle so that each place keeps
                 its distance and direction from it): [x, y] on the oval, then for each of A, B, C
                 [distance over the surface, direction of arrival there (2, in any one basis of that place)]
The eye's up there is square to the line from A to B, turned by nothing.
"""

import json
import struct
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "quay-puffins"))

from shapes import FACES, HEAD_RADIUS, RoundFace, Surface, head_wobble  # noqa: E402
from shortest import aim, go, in_chart, in_space, length, outward, over  # noqa: E402
from targets import layout, split_nominal, split_target  # noqa: E402

SEED = 20261127
TOWARDS = [0.84, -0.44, 0.30]
MARKS = {"a": (-54.0, 4.0), "b": (56.5, -3.0), "c": (-9.0, 62.0)}
EYE = (-1.8, -7.5)
OVAL = (31.0, 24.0)
CELLS = 174
ROUGH_MM = 0.08

# Centre, radius: the head, its brow, its cheek.
BALLS = [((0.0, 0.0, 0.0), 118.0), ((38.0, -22.0, 52.0), 62.0), ((52.0, -40.0, -46.0), 52.0)]
BLEND_MM = 14.0


class Blended(RoundFace):
    def body(self, d):
        r = np.full(d.shape[:-1], 130.0)
        for _ in range(60):
            f, slope = self.field(d * r[..., None], d)
            step = f / slope
            r = r - step
            if np.abs(step).max() < 1e-12 * 100:
                break
        return d * r[..., None]

    @staticmethod
    def field(x, d):
        total, by = 0.0, 0.0
        for centre, radius in BALLS:
            v = x - np.array(centre)
            far = np.sqrt((v * v).sum(-1))
            w = np.exp(-(far - radius) / BLEND_MM)
            total, by = total + w, by + w * (v * d).sum(-1) / far
        return -BLEND_MM * np.log(total), by / total


HEADS = {
    "carved": FACES["head-left"],
    "blended": Blended(HEAD_RADIUS, TOWARDS, head_wobble),
}


def gap(surface, middle, way, half=50.0):
    """A straight-edge on the crown of a section, rocked until both ends gap alike: that gap."""
    t = np.linspace(-75, 75, 15001)
    x = surface.at(np.array(middle) + t[:, None] * np.array(way))
    # The section by the plane through the normal: chart lines are central, so near enough to it; what
    # is off the plane is dropped.
    mid = len(t) // 2
    along = x[mid + 1] - x[mid - 1]
    along /= np.linalg.norm(along)
    normal = outward(surface, np.array(middle)[None, None, :])[0, 0]
    run, drop = (x - x[mid]) @ along, -((x - x[mid]) @ normal)
    lean = 0.0
    for _ in range(50):
        # Where the straight-edge touches for this lean, and the gaps at its ends.
        off = drop + lean * run
        k = int(np.argmin(off))
        ends = [np.interp(run[k] + side * half, run, off) - off[k] for side in (-1, 1)]
        lean -= (ends[1] - ends[0]) / (2 * half)
    return float(sum(ends) / 2)


def ball(surface, middle):
    g = np.linspace(-75, 75, 31)
    ab = np.stack(np.meshgrid(g, g), -1).reshape(-1, 2)
    ab = ab[(ab**2).sum(-1) < 75**2] + np.array(middle)
    x = surface.at(ab)
    m = np.column_stack([2 * x, np.ones(len(x))])
    s = np.linalg.lstsq(m, (x * x).sum(-1), rcond=None)[0]
    return float(np.sqrt(s[3] + s[:3] @ s[:3]))


def truth(face):
    surface = Surface(face)
    named = {**MARKS, "spot": EYE}
    at = {k: np.array(v)[None, None, :] for k, v in named.items()}
    pairs = [(p, q) for i, p in enumerate(named) for q in list(named)[i + 1 :]]
    far = {f"{p} {q}": float(over(surface, at[p], at[q])[0, 0]) for p, q in pairs}
    nominal = split_nominal(surface, at["a"], at["b"], at["spot"])
    end, left = split_target(surface, at["a"], at["b"], nominal)
    assert np.abs(end - at["spot"]).max() < 1e-5
    # C lies on the left of the way from A to B; the eye below it: up is towards C all the same.
    up = left if layout(surface, end, left, at["c"])[0, 0, 1] > 0 else -left
    across = np.cross(up, outward(surface, end))
    outline = []
    for k in range(48):
        turn = 2 * np.pi * k / 48
        x, y = OVAL[0] * np.cos(turn), OVAL[1] * np.sin(turn)
        place, heading = go(surface, end, in_chart(surface, end, x * across + y * up))
        first = in_space(surface, place, heading)
        first = first / np.linalg.norm(first)
        second = np.cross(outward(surface, place), first)
        row = [[x, y]]
        for mark in MARKS:
            w = aim(surface, at[mark], place)
            there, arrives = go(surface, at[mark], w)
            v = in_space(surface, there, arrives)
            v = v / np.linalg.norm(v)
            row.append(
                [
                    float(length(surface, at[mark], w)[0, 0]),
                    float((v * first).sum()),
                    float((v * second).sum()),
                ]
            )
        # Basis of this place: along the ray from the middle, and square to it to the left.
        outline.append(row)
    return {
        "marks": {k: surface.at(at[k])[0, 0].round(4).tolist() for k in named},
        "over": {k: round(v, 4) for k, v in far.items()},
        "straight_edge": {
            "length": 100.0,
            "across": round(gap(surface, EYE, (1.0, 0.0)), 1),
            "up": round(gap(surface, EYE, (0.0, 1.0)), 1),
        },
        "ball": round(ball(surface, EYE), 2),
        "outline": [[[round(float(n), 5) for n in part] for part in row] for row in outline],
    }


def scan(face, rng, path):
    side = np.linspace(-125.0, 125.0, CELLS + 1)
    ab = np.stack(np.meshgrid(side, side), -1)
    d = face.n + ab[..., :1] / face.radius * face.u + ab[..., 1:] / face.radius * face.v
    d = d / np.sqrt((d * d).sum(-1, keepdims=True))
    r = np.sqrt((face.body(d) ** 2).sum(-1)) + rng.uniform(-ROUGH_MM, ROUGH_MM, d.shape[:-1])
    um = np.round(r * 1000).astype("<u4")
    path.write_bytes(um.tobytes())
    return {
        "n": face.n.tolist(),
        "u": face.u.tolist(),
        "v": face.v.tolist(),
        "radius": face.radius,
        "side": [-125.0, 125.0],
        "cells": CELLS,
    }


def main():
    rng = np.random.default_rng(SEED)
    all_of_it = {}
    for name, face in HEADS.items():
        all_of_it[name] = truth(face)
        all_of_it[name]["scan"] = scan(face, rng, HERE / f"{name}.radii")
        t = all_of_it[name]
        print(name, t["over"], t["straight_edge"], t["ball"])
    (HERE / "truth.json").write_text(json.dumps(all_of_it, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
