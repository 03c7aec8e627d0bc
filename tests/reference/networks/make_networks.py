"""Random distance networks on each face kind, adjusted by scipy.

Shares no code and no formulas with the core: points in space from their definition, the cone
by the law of cosines in its developed sector with the tip as origin, the dome by the chord,
square distances by a bounded search for the foot, every derivative by the complex step.
Inner constraints are applied by a basis of the null space of the constraints, not by adding
them to the normal matrix.

    python make_networks.py          writes flat.json cylinder.json cone.json dome.json

Needs numpy and scipy. Seeds are fixed; the files are committed beside this script.
"""

import json
import os

import numpy as np
from scipy.linalg import null_space
from scipy.optimize import least_squares, minimize_scalar

HERE = os.path.dirname(os.path.abspath(__file__))
COUNT = int(os.environ.get("COUNT", 200))
# OIML R 35-1: a, b (mm, mm per metre), c for a hook.
CLASS = {"I": (0.1, 0.1, 0.1), "II": (0.3, 0.2, 0.2), "III": (0.6, 0.4, 0.3)}
RESOLUTION, REPEAT, POINTING = 1.0, 0.3, 0.15
WAVE = {"moulded": 0.3, "trimmed": 1.0, "straight": 0.0}


def space(kind, val, p):
    """Chart point to space, from the definition of each chart."""
    u, v = p
    if kind == "flat":
        return np.array([u, v, 0 * u])
    if kind == "cylinder":
        r = val[0]
        return np.array([r * np.cos(u / r), r * np.sin(u / r), v])
    if kind == "cone":
        r0, t = val
        r, th = r0 + t * v, u / r0
        return np.array([r * np.cos(th), r * np.sin(th), v * np.sqrt(1 - t * t)])
    r = val[0]
    s = np.sqrt(u * u + v * v)
    c = s / abs(r.real)  if not np.iscomplexobj(r) else s / (r * np.sign(r.real))
    rr = r * np.sign(np.real(r))
    sign = np.sign(np.real(r))
    return np.array([sign * rr * np.cos(c), rr * np.sin(c) * u / s, rr * np.sin(c) * v / s])


def straight(kind, val, p, q):
    d = space(kind, val, p) - space(kind, val, q)
    return np.sqrt(d @ d)


def over(kind, val, p, q):
    if kind in ("flat", "cylinder"):
        return np.sqrt((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2)
    if kind == "cone":
        r0, t = val
        s1, s2 = (r0 + t * p[1]) / t, (r0 + t * q[1]) / t
        return np.sqrt(s1 * s1 + s2 * s2 - 2 * s1 * s2 * np.cos((p[0] - q[0]) / r0 * t))
    r = val[0] * np.sign(np.real(val[0]))
    return 2 * r * np.arcsin(straight(kind, val, p, q) / (2 * r))


def edge_frame(e):
    along = np.array([np.cos(e["along"]), np.sin(e["along"])])
    return np.array(e["through"]), along, np.array([-along[1], along[0]])


def square(kind, val, e, off, slope, p):
    o, a, n = edge_frame(e)
    arm = p - o
    gap = arm @ n - off - slope * (arm @ a)
    if kind in ("flat", "cylinder"):
        return gap / np.sqrt(1 + slope * slope)
    real = [np.real(x) for x in val]
    pr, ofr, slr = np.real(p), np.real(off), np.real(slope)
    t0 = np.real(arm @ a)
    foot = lambda t: o + a * t + n * (ofr + slr * t)
    best = minimize_scalar(lambda t: over(kind, real, foot(t), pr), bounds=(t0 - 250, t0 + 250),
                           method="bounded", options={"xatol": 1e-7, "maxiter": 500})
    t = best.x
    # Newton polish on the slope of the distance (complex step along the edge).
    slope_of = lambda t: np.imag(over(kind, [complex(x) for x in real], foot(t + 1e-20j), pr)) / 1e-20
    for _ in range(30):
        f, g = slope_of(t), (slope_of(t + 1e-3) - slope_of(t - 1e-3)) / 2e-3
        step = -f / g
        t += step
        if abs(step) < 1e-11:
            break
    return np.sign(np.real(gap)) * over(kind, val, o + a * t + n * (off + slope * t), p)


class Net:
    def __init__(self, kind, val, sizes, points, edges, tapes, readings):
        self.kind, self.val, self.sizes = kind, val, sizes
        self.points, self.edges, self.tapes, self.readings = points, edges, tapes, readings
        self.names, self.x0 = [], []
        for i, p in enumerate(points):
            if p["held"] != "fixed":
                self.names += [("p", i, 0), ("p", i, 1)]
                self.x0 += p["start"]
        for i, e in enumerate(edges):
            if e["held"] != "fixed":
                self.names += [("e", i, 0), ("e", i, 1)]
                self.x0 += [0.0, 0.0]
        for k, sd in enumerate(sizes):
            if sd is not None:
                self.names.append(("s", k, 0))
                self.x0.append(val[k])
        for k, t in enumerate(tapes):
            self.names += [("t", k, 0), ("t", k, 1)]
            self.x0 += [0.0, 0.0]
        self.x0 = np.array(self.x0)
        self.at = {n: i for i, n in enumerate(self.names)}
        self.con = np.zeros((0, len(self.x0)))

    def parts(self, x):
        get = lambda n, d: x[self.at[n]] if n in self.at else d
        pts = [np.array([get(("p", i, 0), p["start"][0]), get(("p", i, 1), p["start"][1])])
               for i, p in enumerate(self.points)]
        eds = [(get(("e", i, 0), 0.0), get(("e", i, 1), 0.0)) for i in range(len(self.edges))]
        val = [get(("s", k, 0), v) for k, v in enumerate(self.val)]
        return pts, eds, val, get

    def sd(self, r):
        marks = {"straight": 2, "over": 2, "square": 1, "u": 1, "v": 1, "girth": 1, "size": 0}[r["kind"]]
        if "sd" in r:
            var = r["sd"] ** 2
        else:
            var = RESOLUTION ** 2 / 12 + REPEAT ** 2 + marks * POINTING ** 2
        if r["kind"] == "square":
            var += WAVE[self.edges[r["a"]]["kind"]] ** 2
        return np.sqrt(var)

    def one(self, r, pts, eds, val):
        k, kind = r["kind"], self.kind
        if k == "straight":
            return straight(kind, val, pts[r["a"]], pts[r["b"]])
        if k == "over":
            return over(kind, val, pts[r["a"]], pts[r["b"]])
        if k == "square":
            return square(kind, val, self.edges[r["a"]], *eds[r["a"]], pts[r["b"]])
        if k == "u":
            return pts[r["a"]][0]
        if k == "v":
            return pts[r["a"]][1]
        radius = val[0] + (val[1] * r.get("at", 0.0) if kind == "cone" else 0)
        if k == "girth":
            return 2 * np.pi * radius * np.sign(np.real(radius))
        return val[0] * np.sign(np.real(val[0]))

    def model(self, r, pts, eds, val, get):
        d = self.one(r, pts, eds, val)
        if "tape" in r:
            a, b, c = CLASS[self.tapes[r["tape"]]]
            length = abs(r["value"])
            mpe = a + b * max(np.ceil(length / 1000), 1)
            d = d * (1 + get(("t", r["tape"], 0), 0) * mpe / (np.sqrt(3) * max(length, 1.0)))
            if r["hook"]:
                d = d + get(("t", r["tape"], 1), 0) * c / np.sqrt(3)
        return d

    def residuals(self, x):
        pts, eds, val, get = self.parts(x)
        out = [(self.model(r, pts, eds, val, get) - r["value"]) / self.sd(r) for r in self.readings]
        for i, p in enumerate(self.points):
            if isinstance(p["held"], float):
                out += [(x[self.at[("p", i, k)]] - p["start"][k]) / p["held"] for k in (0, 1)]
        for i, e in enumerate(self.edges):
            if isinstance(e["held"], float):
                out += [x[self.at[("e", i, 0)]] / e["held"], x[self.at[("e", i, 1)]] / (e["held"] / 500)]
        for k, sd in enumerate(self.sizes):
            if sd is not None and sd != "free":
                out.append((x[self.at[("s", k, 0)]] - self.val[k]) / sd)
        for k in range(len(self.tapes)):
            out += [x[self.at[("t", k, 0)]], x[self.at[("t", k, 1)]]]
        return np.array(out)

    def jac(self, x):
        cols = []
        for k in range(len(x)):
            z = x.astype(complex)
            z[k] += 1e-30j
            cols.append(np.imag(self.residuals(z)) / 1e-30)
        return np.array(cols).T


def moved(kind, val, p, g, h):
    """A chart point after a small motion of the whole face, done in space or in development."""
    u, v = p
    if kind == "flat" or (kind == "cylinder" and g == "turn"):
        if g == "turn":
            c, s = np.cos(h), np.sin(h)
            return np.array([c * u - s * v, s * u + c * v])
    if g == "u" and kind != "dome":
        return np.array([u + h, v])
    if g == "v" and kind in ("flat", "cylinder"):
        return np.array([u, v + h])
    if kind == "cone":  # shift of the developed sector
        r0, t = val
        s, phi = (r0 + t * v) / t, t * u / r0
        q = np.array([s * np.cos(phi), s * np.sin(phi)]) + h * (np.array([1.0, 0]) if g == "v" else np.array([0, 1.0]))
        sgn = np.sign(s)
        return np.array([np.arctan2(sgn * q[1], sgn * q[0]) * r0 / t, sgn * np.hypot(*q) - r0 / t])
    r = val[0]
    x = space(kind, val, p)
    axis = {"u": 2, "v": 1, "turn": 0}[g]
    a = h if g == "turn" else h / abs(r)
    c, s = np.cos(a), np.sin(a)
    i, j = [k for k in range(3) if k != axis]
    y = x.copy()
    y[i], y[j] = c * x[i] - s * x[j], s * x[i] + c * x[j]
    w = y / r
    ang = np.arctan2(np.hypot(w[1], w[2]), w[0])
    f = r * ang / np.hypot(w[1], w[2])
    return np.array([f * w[1], f * w[2]])


def constraints(net, motions):
    rows = []
    for g in motions:
        h = 1e-3 if g == "turn" else 1e-1
        row = np.zeros(len(net.x0))
        for i, p in enumerate(net.points):
            if ("p", i, 0) in net.at:
                d = lambda k: (moved(net.kind, net.val, p["start"], g, k) - moved(net.kind, net.val, p["start"], g, -k)) / (2 * k)
                row[net.at[("p", i, 0)]:net.at[("p", i, 0)] + 2] = (4 * d(h / 2) - d(h)) / 3
        rows.append(row / np.linalg.norm(row))
    return np.array(rows)


def solve(net):
    scale = np.array([{"p": 5.0, "e": 5.0, "s": 5.0, "t": 1.0}[n[0]] for n in net.names])
    for i, n in enumerate(net.names):
        if n[0] == "e" and n[2] == 1 or n[0] == "s" and n[1] == 1:
            scale[i] = 0.02
    z = null_space(net.con * scale) if len(net.con) else np.eye(len(net.x0))
    b = scale[:, None] * z
    fun = lambda y: net.residuals(net.x0 + b @ y)
    jac = lambda y: net.jac(net.x0 + b @ y) @ b
    sol = least_squares(fun, np.zeros(b.shape[1]), jac, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    y = sol.x
    for _ in range(8):  # to the last digit: plain Gauss-Newton from scipy's answer
        y = y + np.linalg.lstsq(jac(y), -fun(y), rcond=None)[0]
    j = jac(y)
    s = np.linalg.svd(j, compute_uv=False)
    if s[-1] < 1e-4 * s[0]:
        return None
    r = np.linalg.qr(j, mode="r")
    ri = np.linalg.inv(r)
    q = b @ (ri @ ri.T) @ b.T
    return net.x0 + b @ y, q, float(np.sum(fun(y) ** 2))


def draw(rng, kind):
    n = int(rng.integers(4, 7))
    hollow = rng.random() < 0.25
    if kind == "flat":
        val, lim = [], lambda: rng.uniform([0, 0], [1000, 700])
    elif kind == "cylinder":
        r = rng.uniform(150, 500)
        val, lim = [-r if hollow else r], lambda: np.array([r * rng.uniform(-1.2, 1.2), rng.uniform(0, 600)])
    elif kind == "cone":
        r, t = rng.uniform(200, 450), -rng.uniform(0.1, 0.45)
        val = [-r, -t] if hollow else [r, t]
        lim = lambda: np.array([r * rng.uniform(-1.1, 1.1), rng.uniform(-50, 0.55 * r / abs(t) if r * 0.55 / abs(t) < 500 else 500)])
    else:
        r = rng.uniform(150, 500)
        def lim():
            a, c = rng.uniform(0, 2 * np.pi), r * 1.05 * np.sqrt(rng.uniform(0.01, 1))
            return np.array([c * np.cos(a), c * np.sin(a)])
        val = [-r if hollow else r]
    pts = []
    while len(pts) < n:
        p = lim()
        if all(straight(kind, val, p, q) > 90 for q in pts):
            pts.append(np.round(p, 1))
    sort = rng.choice(["fixed", "free", "prior", "coordinate", "over"])
    spread = {"cylinder": [0.01 * abs(val[0])] if val else [], "cone": [0.01 * abs(val[0]) if val else 0, 0.01],
              "dome": [0.01 * abs(val[0])] if val else [], "flat": []}[kind]
    points = [{"start": p.tolist(), "held": "free"} for p in pts]
    if sort == "fixed":
        points[0]["held"] = points[1]["held"] = "fixed"
    if sort == "prior":
        for k in range(3):
            points[k]["held"] = float(np.round(rng.uniform(0.3, 2), 2))
    with_edge = rng.random() < 0.4 and (sort not in ("free", "over") or kind == "flat")
    edges = []
    if with_edge:
        if kind == "flat":
            edges = [{"through": [500.0, -20.0], "along": 0.0}]
        elif kind == "cylinder":
            edges = [{"through": [0.0, -20.0], "along": 0.0}]
        elif kind == "cone":
            edges = [{"through": [0.0, -80.0], "along": 0.0}]
        else:
            edges = [{"through": [0.0, -1.15 * abs(val[0])], "along": 0.05}]
        edges[0]["kind"] = str(rng.choice(["moulded", "trimmed", "straight"]))
        edges[0]["held"] = "free" if kind == "flat" else float(np.round(rng.uniform(0.5, 3), 2))
    tapes = [str(rng.choice(["I", "II", "III"])) for _ in range(int(rng.integers(0, 3)))]

    truth = [p if points[i]["held"] == "fixed" else p + rng.normal(0, 2.5, 2) for i, p in enumerate(pts)]
    tval = [v + 0.5 * s * rng.normal() for v, s in zip(val, spread)]
    teds = [(rng.normal(0, 2), rng.normal(0, 0.003)) for _ in edges]
    readings = []

    def put(r, noise=0.5):
        net = Net(kind, val, [None] * len(val), points, edges, [], [])
        d = float(np.real(net.one(r, truth, teds, tval)))
        if tapes and rng.random() < 0.7:
            r["tape"], r["hook"] = int(rng.integers(len(tapes))), bool(rng.random() < 0.5)
        else:
            r["sd"] = float(np.round(rng.uniform(0.3, 1.0), 2))
        r["value"] = float(np.round(d + rng.normal(0, noise), 1))
        readings.append(r)

    pairs = [(a, b) for a in range(n) for b in range(a) if not (points[a]["held"] == points[b]["held"] == "fixed")]
    rng.shuffle(pairs)
    straights = 0
    for a, b in pairs:
        k = "over" if sort == "over" or rng.random() < 0.5 else "straight"
        straights += k == "straight"
        put({"kind": k, "a": int(a), "b": int(b)})
    if kind not in ("flat",):
        put({"kind": "girth", "at": float(np.round(rng.uniform(0, 100), 0)) if kind == "cone" else 0.0})
        if rng.random() < 0.4:
            put({"kind": "size"})
        if kind == "cone":
            put({"kind": "girth", "at": 200.0})
    for e in range(len(edges)):
        for b in rng.permutation(n)[:4]:
            put({"kind": "square", "a": e, "b": int(b)})
    if sort == "coordinate":
        put({"kind": "u", "a": 0})
        put({"kind": "v", "a": 0})
        put({"kind": "v", "a": 1})
        put({"kind": "u", "a": 1})
    sizes = [float(s) for s in spread]
    if spread and kind != "cone" and rng.random() < 0.2:
        sizes = ["free"]
    used = {r["tape"] for r in readings if "tape" in r}
    if used != set(range(len(tapes))):
        return None
    hooks = {r["tape"] for r in readings if "tape" in r and r["hook"]}
    if hooks != used:
        return None
    net = Net(kind, val, sizes, points, edges, tapes, readings)
    free = []
    if sort in ("free", "over"):
        flatwise = {"flat": ["u", "v", "turn"], "cylinder": ["u", "v"], "cone": ["u"], "dome": ["u", "v", "turn"]}[kind]
        if kind in ("cylinder", "cone") and straights == 0:
            flatwise = ["u", "v", "turn"]
        free = flatwise
        net.con = constraints(net, free)
    got = solve(net)
    if got is None:
        return None
    x, q, ss = got
    keep = [i for i, m in enumerate(net.names) if m[0] in "ps"]
    if ss > 20 * len(readings):
        return None  # scipy went to another minimum: no reference
    if np.max(np.sqrt(np.diag(q)[[i for i, m in enumerate(net.names) if m[0] == "p"]])) > 15:
        return None
    tri = [float(f"{q[keep[i], keep[j]]:.9e}") for i in range(len(keep)) for j in range(i + 1)]
    return {"values": val, "sizes": sizes, "points": points, "edges": edges, "tapes": tapes,
            "readings": readings, "motions": len(free), "x": [float(f"{x[i]:.10f}") for i in keep],
            "sum_of_squares": ss, "q": tri}


def tidy(o):
    if isinstance(o, float):
        return float(f"{o:.12g}")
    if isinstance(o, dict):
        return {k: tidy(v) for k, v in o.items()}
    if isinstance(o, list):
        return [tidy(v) for v in o]
    return o


def main():
    for k, kind in enumerate(["flat", "cylinder", "cone", "dome"]):
        rng = np.random.default_rng(20260 + k)
        nets = []
        while len(nets) < COUNT:
            net = draw(rng, kind)
            if net:
                x, ss = net["x"], net["sum_of_squares"]
                values = net["values"]
                net = tidy(net)
                net["x"], net["sum_of_squares"], net["values"] = x, ss, values
                nets.append(net)
        text = "[\n" + ",\n".join(json.dumps(n, separators=(",", ":")) for n in nets) + "\n]\n"
        with open(os.path.join(HERE, f"{kind}.json"), "w") as f:
            f.write(text)
        print(kind, len(text))


if __name__ == "__main__":
    main()
