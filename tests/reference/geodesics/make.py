"""Ways over three scans by three general-purpose libraries, for what the core measures on the same scans.

    pip install numpy pygeodesic==0.1.11 potpourri3d==1.4.0 libigl==2.6.3
    python make.py        # half a minute; writes values.json

pygeodesic and libigl have the exact way over facets (Mitchell, Mount and Papadimitriou 1987), each by
code of its own; potpourri3d approximates by heat (Crane and others 2013) and by fast marching. None of them
smooths anything. The meshes are those of tests/src/meshes.rs, worked again here: the head of an invented bird,
a ball of an icosahedron whose triangles were divided, an upright prism of 180 sides.

values.json, for each mesh: `cells` or what else it is made of, `marks` (places, mm; corners of the mesh), and for
each pair of marks, in the order 01 02 03 12 13 23, the way over it in mm by each library.
"""

import json
from itertools import combinations
from pathlib import Path

import igl
import numpy as np
import potpourri3d
from pygeodesic import geodesic

HERE = Path(__file__).parent
R = 150.0
CELLS = (120, 100)
DIVIDED = 5
SIDES, RISE, ROWS = 180, 300.0, 60


def patch(across, up, cells, at):
    """`patch` of tests/src/meshes.rs."""
    n, m = cells
    points, triangles = [], []
    for j in range(m + 1):
        for i in range(n + 1):
            lean = 0.5 if j % 2 == 1 and 0 < i < n else 0.0
            s, t = (i + lean) / n, j / m
            points.append(at(across[0] + (across[1] - across[0]) * s, up[0] + (up[1] - up[0]) * t))
    for j in range(m):
        for i in range(n):
            a = j * (n + 1) + i
            b, c, d = a + 1, a + n + 1, a + n + 2
            triangles += [[a, b, c], [b, d, c]] if j % 2 == 1 else [[a, b, d], [a, d, c]]
    return np.array(points), np.array(triangles)


def head(a, b):
    out = np.array([np.cos(b) * np.cos(a), np.cos(b) * np.sin(a), np.sin(b)])
    brow = 6.0 * np.exp(-((a - 0.35) ** 2 + (b - 0.55) ** 2) / 0.18)
    return out * (150.0 + 12.0 * np.sin(b) - 10.0 * np.sin(a) ** 2 + brow)


def icosphere():
    g = (1 + 5**0.5) / 2
    points = [[-1, g, 0], [1, g, 0], [-1, -g, 0], [1, -g, 0], [0, -1, g], [0, 1, g],
              [0, -1, -g], [0, 1, -g], [g, 0, -1], [g, 0, 1], [-g, 0, -1], [-g, 0, 1]]
    triangles = [[0, 11, 5], [0, 5, 1], [0, 1, 7], [0, 7, 10], [0, 10, 11], [1, 5, 9], [5, 11, 4],
                 [11, 10, 2], [10, 7, 6], [7, 1, 8], [3, 9, 4], [3, 4, 2], [3, 2, 6], [3, 6, 8],
                 [3, 8, 9], [4, 9, 5], [2, 4, 11], [6, 2, 10], [8, 6, 7], [9, 8, 1]]
    points = [np.array(p) / np.linalg.norm(p) for p in points]
    for _ in range(DIVIDED):
        middles, finer = {}, []

        def middle(i, j):
            key = (min(i, j), max(i, j))
            if key not in middles:
                p = points[i] + points[j]
                points.append(p / np.linalg.norm(p))
                middles[key] = len(points) - 1
            return middles[key]

        for a, b, c in triangles:
            ab, bc, ca = middle(a, b), middle(b, c), middle(c, a)
            finer += [[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]
        triangles = finer
    return np.array(points) * R, np.array(triangles)


def prism():
    """A post of flat sides, a quarter of it about +x: corners on the circle, rows upwards."""
    quarter = np.pi / 2
    sides = SIDES // 4
    points, triangles = [], []
    for j in range(ROWS + 1):
        for i in range(sides + 1):
            a = -quarter / 2 + quarter * i / sides
            points.append([R * np.cos(a), R * np.sin(a), -RISE / 2 + RISE * j / ROWS])
    for j in range(ROWS):
        for i in range(sides):
            a = j * (sides + 1) + i
            b, c, d = a + 1, a + sides + 1, a + sides + 2
            triangles += [[a, b, d], [a, d, c]]
    return np.array(points), np.array(triangles)


def marks(points, wanted):
    return [int(np.argmin(np.linalg.norm(points - w, axis=1))) for w in wanted]


def ways(points, triangles, corners):
    triangles = triangles.astype(np.int32)
    exact = geodesic.PyGeodesicAlgorithmExact(points, triangles)
    heat = potpourri3d.MeshHeatMethodDistanceSolver(points, triangles)
    march = potpourri3d.MeshFastMarchingDistanceSolver(points, triangles)
    out = {"pygeodesic": [], "libigl": [], "potpourri3d_heat": [], "potpourri3d_march": []}
    for a, b in combinations(corners, 2):
        out["pygeodesic"].append(float(exact.geodesicDistance(a, b)[0]))
        none = np.zeros(0, dtype=np.int64)
        far = igl.exact_geodesic(points, triangles.astype(np.int64), np.array([a]), none, np.array([b]), none)
        out["libigl"].append(float(np.atleast_1d(far)[0]))
        out["potpourri3d_heat"].append(float(heat.compute_distance(a)[b]))
        out["potpourri3d_march"].append(float(march.compute_distance([[(a, [])]])[b]))
    return {k: [round(x, 6) for x in v] for k, v in out.items()}


def main():
    values = {}
    around = [(0.0, 0.1), (0.62, 0.12), (0.3, 0.62), (0.32, 0.32)]
    for name, made, wanted in [
        ("head", patch((-1.15, 1.15), (-1.0, 1.0), CELLS, head), [head(a, b) for a, b in around]),
        ("icosphere", icosphere(), [R * np.array([np.cos(b) * np.cos(a), np.cos(b) * np.sin(a), np.sin(b)])
                                    for a, b in [(-0.3, -0.2), (0.4, -0.15), (0.05, 0.45), (0.02, 0.1)]]),
        ("prism", prism(), [R * np.array([np.cos(a), np.sin(a), z / R])
                            for a, z in [(-0.4, -60.0), (0.45, -50.0), (0.1, 70.0), (0.05, 5.0)]]),
    ]:
        points, triangles = made
        corners = marks(points, wanted)
        values[name] = {
            "corners": len(points),
            "triangles": len(triangles),
            "marks": [[round(float(x), 6) for x in points[k]] for k in corners],
            "ways": ways(points, triangles, corners),
        }
        for k, v in values[name]["ways"].items():
            print(name, k, v)
    (HERE / "values.json").write_text(json.dumps(values, indent=1) + "\n")


main()
