#!/usr/bin/env python3
"""Offsets of outlines by another library, for tests/suite/outlines.rs.

    python3 offsets.py > offsets.json      (needs shapely, which brings GEOS)

Every shape is a list of rings of points; GEOS buffers the polygon (holes by even-odd) with round
joins, 512 segments to a quarter turn: for the radii used here within 0.05 µm of a circle. The shapes
are made from formulas on a grid of 1/1024 mm, so that both sides start from exactly the same points.

For every distance the file holds the area, the number of rings, and points along the rings of the
buffer every 0.7 mm, rounded to a tenth of a micrometre.
"""
import json
import math

import shapely
from shapely.geometry import MultiPolygon, Polygon


def grid(points):
    return [(round(x * 1024) / 1024, round(y * 1024) / 1024) for x, y in points]


def polar(n, radius):
    return grid([(radius(a) * math.cos(a), radius(a) * math.sin(a)) for a in (math.tau * i / n for i in range(n))])


SHAPES = {
    "rectangle": [grid([(0, 0), (60, 0), (60, 25), (0, 25)])],
    "arrow": [grid([(0, 10), (40, 10), (40, 0), (70, 18), (40, 36), (40, 26), (0, 26)])],
    "star": [polar(10, lambda a: 30 if round(a / math.tau * 10) % 2 == 0 else 12)],
    "five lobes": [polar(400, lambda a: 25 + 6 * math.cos(5 * a))],
    "eye with a hole": [
        polar(240, lambda a: 30 / math.sqrt(1 + 3 * math.sin(a) ** 2)),
        polar(90, lambda a: 7),
    ],
    "dumb bell": [grid([(0, 0), (30, 0), (30, 12), (50, 12), (50, 0), (80, 0), (80, 30), (50, 30), (50, 18), (30, 18), (30, 30), (0, 30)])],
    "comb": [grid([(0, 0), (70, 0), (70, 20)] + [p for i in range(6, -1, -1) for p in ((10 * i + 6, 20), (10 * i + 6, 6), (10 * i + 2, 6), (10 * i + 2, 20))] + [(0, 20)])],
}
DISTANCES = [-4.0, -2.5, -1.0, -0.25, 0.25, 1.0, 3.0, 6.0]


def rings(shape):
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return [r for p in parts if not p.is_empty for r in (p.exterior, *p.interiors)]


def main():
    cases = []
    for name, shape in SHAPES.items():
        polygon = Polygon(shape[0], shape[1:])
        for distance in DISTANCES:
            moved = polygon.buffer(distance, quad_segs=512, join_style="round")
            points = []
            for ring in rings(moved):
                count = max(4, round(ring.length / 0.7))
                for i in range(count):
                    p = ring.interpolate(i / count, normalized=True)
                    points.append((round(p.x, 4), round(p.y, 4)))
            cases.append({"shape": name, "distance": distance, "area": round(moved.area, 6), "rings": len(rings(moved)), "points": points})
    print(json.dumps({"made_by": f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}", "shapes": SHAPES, "cases": cases}, separators=(",", ":")))


if __name__ == "__main__":
    main()
