"""How the puffins sit on their caps: joint facts and seat readings, added at the end of the example.

    python seat.py            # needs numpy; rewrites public/examples/ and seat-truth.json

Everything that stands in the file stays byte for byte; what an earlier run of this step added goes
first. The facts are a replica's of their own, so other steps that add to the file do not collide.
Run it after generate.py. Shares no code with the program under test. Everything is invented.
"""

import json
import pathlib
import zipfile

import numpy as np

from shapes import CAP_RADIUS

HERE = pathlib.Path(__file__).resolve().parent
EXAMPLE = HERE.parents[2] / "public" / "examples" / "quay-puffins.samespot"
REPLICA, WHO, SEED = "00000000000000c3", "Fitter (invented)", 20261017
JOINT = "puffin-on-cap"
RIM = np.sqrt(CAP_RADIUS**2 - 172.0**2)
# Plan, mm: across to the right seen from the front, back from the middle.
PADS = {"p1": ("front left", -60.0, -45.0), "p2": ("front right", 60.0, -45.0), "p3": ("back", 0.0, 75.0)}
STATIONS = {
    "front": ("front", 0.0, -130.0),
    "back-left": ("back left", -112.0, 66.0),
    "back-right": ("back right", 112.0, 66.0),
}
LOCATING, WITHIN, LEAST, GREATEST, EDGE = 96.0, 2.0, 2.0, 6.0, 105.0
# Name, thickness, there while bedding, there in the finished piece.
LAYERS = [
    ("paint on the cap", 0.3, False, True),
    ("paint under the puffin", 0.3, False, True),
    ("release film on the cap", 0.1, True, False),
]
BED = 4.0
FINISHED = sum(t for _, t, _, stays in LAYERS if stays)
WHILE_BEDDING = sum(t for _, t, there, _ in LAYERS if there)


def mm(value):
    text = f"{value:.1f}".removesuffix(".0")
    kind = "decimal-point" if "." in text else "whole"
    return {"typed": text, "mm": float(value), "unit": "mm", "rule": f"field-unit, {kind}"}


def half(value):
    return float(np.floor(value * 2 + 0.5) / 2)


def tenth(value):
    return float(np.floor(value * 10 + 0.5) / 10)


def dome(x, y):
    """Height over the rim's plane, and the slope, of the cap as turned."""
    r = np.hypot(x, y)
    return np.sqrt(CAP_RADIUS**2 - r * r) - RIM, np.arcsin(r / CAP_RADIUS)


def places():
    rows = [(x, y) for _, x, y in [*PADS.values(), *STATIONS.values()]]
    return np.array(rows)


def plane(at, rise):
    """h + a x + b y through three places."""
    m = np.column_stack([np.ones(3), at])
    return np.linalg.solve(m, rise)


def over(at, hab):
    return np.column_stack([np.ones(len(at)), at]) @ hab


class Seats:
    """True heights, and where the figure comes to stand; small leans, so heights add."""

    def __init__(self):
        rng = np.random.default_rng(SEED)
        at = places()
        self.pads, self.stations = at[:3], at[3:]
        z, slope = dome(at[:, 0], at[:, 1])
        self.steep = 1 / np.cos(slope[:3])
        gap = (BED + FINISHED) * self.steep
        drawn = np.concatenate([z[:3] + gap, z[3:] + LOCATING])
        self.cap = {n: z + rng.normal(0, 0.22, 6) for n in range(1, 18)}
        # Chocked up on the board by eye: not quite level, at no height in particular.
        lean = {n: rng.normal([0, 0, 0], [0, 0.002, 0.002]) + [40.0, 0, 0] for n in range(1, 18)}
        self.puffin = {n: drawn + rng.normal(0, 0.22, 6) + over(at, lean[n]) for n in range(1, 18)}

    def standing(self, n, thick):
        """What the stations read with the figure on `thick` (square to the cap) at each pad."""
        cap, puffin = self.cap[n], self.puffin[n]
        hab = plane(self.pads, cap[:3] + thick * self.steep - puffin[:3])
        return puffin[3:] + over(self.stations, hab) - cap[3:]

    def shims(self, n):
        """Filler at each pad when the finished piece reads the locating dimension."""
        cap, puffin = self.cap[n], self.puffin[n]
        hab = plane(self.stations, cap[3:] + LOCATING - puffin[3:])
        return (puffin[:3] + over(self.pads, hab) - cap[:3]) / self.steep - FINISHED


def spots(table):
    out = []
    for name, (words, x, y) in table.items():
        spot = {"id": name, "name": words, "across": mm(x), "back": mm(y)}
        if table is PADS:
            spot["slope"] = float(dome(x, y)[1])
            spot["falls"] = float(np.arctan2(y, x))
        out.append(spot)
    return out


def readings(seats):
    """(wall, what was read, value) in the order of the work."""
    rng = np.random.default_rng([SEED, 1])
    read = lambda v: half(v + rng.normal(0, 0.2))  # noqa: E731
    # Heights on the board by a height gauge.
    gauge = lambda v: tenth(v + rng.normal(0, 0.1))  # noqa: E731
    names = [*PADS, *STATIONS]
    for n in range(1, 18):
        for casting, true in ((f"cap-{n}", seats.cap[n]), (f"puffin-{n}", seats.puffin[n])):
            for spot, height in zip(names, true):
                yield "2026-11-05 09:00", {"read": "height", "casting": casting, "spot": spot}, gauge(height)
    for n in range(1, 10):
        # On trial: three shims of 4 mm, before film and paint.
        trial = np.full(3, BED)
        for pad, gap in zip(PADS, trial):
            yield "2026-11-06 10:00", {"read": "gap", "piece": f"p{n}", "pad": pad, "when": "dry"}, gap
        for station, d in zip(STATIONS, seats.standing(n, trial)):
            what = {"read": "locating", "piece": f"p{n}", "station": station, "when": "dry"}
            yield "2026-11-06 10:05", what, read(d)
    for n in range(1, 7):
        shims = seats.shims(n) + rng.normal(0, 0.12, 3)
        for when, layers in (("wet", WHILE_BEDDING), ("cured", 0.0)):
            for station, d in zip(STATIONS, seats.standing(n, shims + layers)):
                what = {"read": "locating", "piece": f"p{n}", "station": station, "when": when}
                yield f"2026-11-{9 if when == 'wet' else 10:02d} 11:00", what, read(d)


def main():
    with zipfile.ZipFile(EXAMPLE) as z:
        text = z.read("job.json").decode()
        others = [(i, z.read(i)) for i in z.infolist() if i.filename != "job.json"]
    job = json.loads(text)
    before = [f for f in job["facts"] if f["id"]["replica"] != REPLICA]
    dump = lambda v: json.dumps(v, ensure_ascii=False, separators=(",", ":"), allow_nan=False)  # noqa: E731
    assert all(dump(f) in text for f in before)
    heads = {}
    for f in before:
        heads[f["id"]["replica"]] = max(heads.get(f["id"]["replica"], 0), f["id"]["seq"])
    lamport = max(f["lamport"] for f in before)
    seats, added = Seats(), []

    def say(wall, kind, payload):
        added.append({
            "id": {"replica": REPLICA, "seq": len(added) + 1}, "lamport": lamport + len(added) + 1,
            "seen": dict(sorted(heads.items())), "wall": wall, "who": WHO, "kind": kind, "v": 1, "payload": payload,
        })

    say("2026-11-05 08:30", "edit", {"on": {"joint": JOINT}, "set": {
        "bedded": "master-seat", "pads": spots(PADS), "stations": spots(STATIONS), "within": WITHIN,
        "bed-least": LEAST, "bed-greatest": GREATEST, "edge": EDGE,
        "layers": [dict(name=n, thickness=t, while_bedding=w, finished=f) for n, t, w, f in LAYERS],
    }})
    for wall, what, value in readings(seats):
        say(wall, "seat-reading", {"joint": JOINT, **what, "value": mm(value)})
    job["facts"] = before + added
    with zipfile.ZipFile(EXAMPLE, "w", zipfile.ZIP_STORED) as z:
        info = zipfile.ZipInfo("job.json", (1980, 1, 1, 0, 0, 0))
        info.create_system, info.external_attr = 3, 0o644 << 16
        z.writestr(info, dump(job).encode())
        for i, content in others:
            z.writestr(i, content)
    rounded = lambda v: [round(float(x), 4) for x in v]  # noqa: E731
    truth = {
        "about": "Invented. True seats of the example Quay puffins; tests alone read this. See seat.py.",
        "locating": LOCATING, "finished_layers": FINISHED, "while_bedding": WHILE_BEDDING,
        "shims": {f"p{n}": rounded(seats.shims(n)) for n in seats.cap},
        "wet": {f"p{n}": rounded(seats.standing(n, seats.shims(n) + WHILE_BEDDING)) for n in seats.cap},
        "cured": {f"p{n}": rounded(seats.standing(n, seats.shims(n))) for n in seats.cap},
    }
    (HERE / "seat-truth.json").write_text(dump(truth) + "\n")
    print(len(before), "facts kept,", len(added), "added")
    for n in seats.cap:
        print(n, rounded(seats.shims(n)))


if __name__ == "__main__":
    main()
