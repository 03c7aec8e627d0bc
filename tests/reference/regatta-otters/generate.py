"""The invented example *Regatta otters*: the job file and its truth.

    python generate.py        # standard library only; seeded; a minute

12 otters, each astride an upturned dinghy of two flat slopes that meet at a ridge. Shares no code or
formula with the program under test: distances on the slopes and the transom are between points of
deformed castings in space, those on the head are found by shortening a chain over an ellipsoid, and
the bolts are placed by hand-made plane geometry. Everything is invented.
"""

import json
import math
import pathlib
import random
import zipfile

HERE = pathlib.Path(__file__).resolve().parent
EXAMPLE = HERE.parents[2] / "public" / "examples" / "regatta-otters.samespot"
SEED, PIECES, BATCHES = 20261126, 12, [2, 5, 5]
OFFICE, BENCH = "00000000000000a1", "00000000000000b2"
WHO = {OFFICE: "Office (invented)", BENCH: "Bench (invented)"}

# Where the maker put the pips on the pattern, mm. On every face, seen from outside: A left, B right,
# C above. The slopes and the transom are flat; the head by azimuth and distance from its middle.
FLAT = {
    "slope-left": {"a": (-240.0, -120.0), "b": (236.0, -117.0), "c": (12.0, 96.0)},
    "slope-right": {"a": (-238.0, -118.0), "b": (241.0, -121.0), "c": (-9.0, 98.0)},
    "transom": {"a": (-190.0, -40.0), "b": (187.0, -42.0), "c": (4.0, 70.0)},
}
HEAD = {"a": (-72.0, -28.0), "b": (70.0, -30.0), "c": (2.0, 55.0)}
EYES = {"eye-right": (-34.0, 8.0), "eye-left": (33.0, 7.0)}
PANEL = (2.0, -8.0)
RADIUS = 160.0  # of the head, nearly
# The middle of each pair of bolts from mark A along A to B and square to it, on the pattern, and the pitch.
BOLTS = {"slope-left": (238.0, 112.0), "slope-right": (240.0, 110.0)}
PITCH = 140.0
PART = {"slope-left": "dinghy", "slope-right": "dinghy", "transom": "dinghy", "head": "otter"}
FOUND = {
    "a": "moulded-in pip, left", "b": "moulded-in pip, right", "c": "moulded-in pip above, in the middle",
}
NAMES = {
    "slope-left": ("left slope", "from the figure's left"),
    "slope-right": ("right slope", "from the figure's right"),
    "transom": ("transom", "from the back"),
    "head": ("head", "from the front"),
}
SECTION = {"slope-left": "dinghy-left", "slope-right": "dinghy-right", "head": "otter-shell"}
SLOPE = math.radians(35.0)  # of each side, off level: the ridge's half-angle is 55 degrees
# Name, across to the right seen from the front, back, which way the dinghy falls there.
PADS = {
    "p1": ("front left", -95.0, -120.0, math.pi),
    "p2": ("front right", 95.0, -120.0, 0.0),
    "p3": ("back right", 95.0, 130.0, 0.0),
}
STATIONS = {
    "s1": ("bow", 0.0, -260.0), "s2": ("stern, left", -150.0, 210.0), "s3": ("stern, right", 150.0, 210.0),
}
LOCATING, BED = 64.0, 4.0
# The jig of the right slope stands on stops: two against the gunwale, under marks A and B, one against
# the stern, left of A. How each edge left the mould, from end to end, on the pattern.
STOPS_ON = "slope-right"
EDGES = {
    "gunwale": ("E", "below", ((-300.0, -190.0), (300.0, -190.0))),
    "stern": ("F", "left", ((-300.0, 130.0), (-300.0, -190.0))),
}
STOPS = [("gunwale", "a"), ("gunwale", "b"), ("stern", "a")]
TAPES = {
    # a + b per metre begun (OIML R 35-1:2007, 3.2); scatter and pointing: common practice, no source.
    "soft-tape": ("Soft tape, green", "soft-tape", "II", 0.3, 0.2, 0.5, 0.3),
    "pocket-tape": ("Pocket tape, 3 m", "pocket-tape", "II", 0.3, 0.2, 0.5, 0.3),
}


def mm(value):
    text = f"{value:.1f}".removesuffix(".0")
    kind = "decimal-point" if "." in text else "whole"
    return {"typed": text, "mm": float(text), "unit": "mm", "rule": f"field-unit, {kind}"}


def half(value):
    return math.floor(value * 2 + 0.5) / 2


class Pull:
    """What one casting came to: shrunk by section, its right half stepped at the seam."""

    def __init__(self, rng, pattern):
        self.shrink = [0.0, 0.0] if pattern else [rng.uniform(1.0, 4.0) / 1000 for _ in range(2)]
        self.step = 0.0 if pattern else rng.uniform(-2.0, 2.0)
        self.oval = 0.0 if pattern else rng.uniform(-0.004, 0.004)
        self.wander = {
            (face, k): (0.0, 0.0) if pattern else (rng.gauss(0, 0.8), rng.gauss(0, 0.8))
            for face in [*FLAT, "head"] for k in "abc"
        }

    def flat(self, face, at, mark=None):
        x, y = at
        right = face == "slope-right" or (face == "transom" and x > 0)
        k = 1 - self.shrink[1 if right else 0]
        step = self.step if face == "transom" and right else 0.0
        wx, wy = self.wander.get((face, mark), (0.0, 0.0))
        return (x * k + wx, y * k + step + wy)

    def head(self, at, mark=None):
        """A point of the ellipsoid, out of the head's middle; at: along the ball's own circles."""
        x, y = at
        wx, wy = self.wander.get(("head", mark), (0.0, 0.0))
        x, y = x + wx, y + wy
        far = math.hypot(x, y)
        t = far / RADIUS
        d = (math.sin(t) * x / far, math.sin(t) * y / far, math.cos(t)) if far else (0.0, 0.0, 1.0)
        return self.onto(d)

    def axes(self):
        k = RADIUS * (1 - self.shrink[0])
        return (k * (1 + self.oval), k * (1 - self.oval), k * 1.002)

    def onto(self, p):
        a, b, c = self.axes()
        k = math.sqrt((p[0] / a) ** 2 + (p[1] / b) ** 2 + (p[2] / c) ** 2)
        return (p[0] / k, p[1] / k, p[2] / k)

    def over(self, p, q):
        """Shortest way over the head: a chain of chords, halved again and again and drawn tight."""
        chain = [p, q]
        for _ in range(6):
            finer = [chain[0]]
            for u, v in zip(chain, chain[1:]):
                finer += [self.onto(tuple((i + j) / 2 for i, j in zip(u, v))), v]
            chain = finer
            for _ in range(60):
                for i in range(1, len(chain) - 1):
                    u, v = chain[i - 1], chain[i + 1]
                    chain[i] = self.onto(tuple((m + n) / 2 for m, n in zip(u, v)))
        return sum(math.dist(u, v) for u, v in zip(chain, chain[1:]))


class Tape:
    def __init__(self, name, rng):
        _, _, _, self.a, self.b, self.step, self.scatter = TAPES[name]
        self.lies = rng.uniform(-1, 1)

    def reads(self, true, rng):
        allowed = self.a + self.b * math.ceil(true / 1000)
        said = true + allowed * self.lies + rng.gauss(0, self.scatter)
        return math.floor(said / self.step + 0.5) * self.step


class Log:
    def __init__(self):
        self.facts, self.heads = [], {}

    def say(self, who, when, kind, payload):
        seq = self.heads.get(who, 0) + 1
        seen = {r: s for r, s in sorted(self.heads.items()) if r != who}
        fact = {"id": {"replica": who, "seq": seq}, "lamport": len(self.facts) + 1}
        if seen:
            fact["seen"] = seen
        fact.update(wall=when, who=WHO[who], kind=kind, v=1, payload=payload)
        self.heads[who] = seq
        self.facts.append(fact)

    def edit(self, when, on, fields):
        self.say(OFFICE, when, "edit", {"on": on, "set": fields})


def line(face):
    return {
        "rule": "line", "from": f"{face}-a", "to": f"{face}-b", "side": f"{face}-c",
        "along": {"by": "difference-split"},
    }


def design(log, girth):
    now = "2026-11-02 09:00"
    log.edit(now, "job", {
        "title": "Regatta otters (invented)", "prepared-for": "an invented rowing club", "unit": "mm",
        "invented": True, "pieces": PIECES, "paper": "a4",
    })
    log.edit(now, {"issue": "issue-1"}, {
        "number": 1, "date": "2026-11-02", "reason": "first release", "asked-by": "the club (invented)",
        "approved-by": "the maker (invented)", "from-piece": 1, "to-piece": PIECES,
    })
    sections = {
        "dinghy": [("dinghy-left", "left half"), ("dinghy-right", "right half")],
        "otter": [("otter-shell", "all of it")],
    }
    for part, own in sections.items():
        log.edit(now, {"mould": f"{part}-mould"}, {
            "name": f"{part.capitalize()} mould", "shrinkage-per-mille": 2.0,
            "sections": [{"id": i, "name": n} for i, n in own],
        })
        log.edit(now, {"part": part}, {"name": part.capitalize(), "mould": f"{part}-mould"})
    for face, (name, seen) in NAMES.items():
        dome = {"kind": "dome", "size": {"by": "girth", "girth": mm(girth)}}
        shape = dome if face == "head" else {"kind": "flat"}
        log.edit(now, {"face": face}, {"part": PART[face], "name": name, "shape": shape, "seen-from": seen})
        for k in "abc":
            fields = {
                "face": face, "letter": k.upper(), "found": FOUND[k], "hidden": False,
                "section": SECTION.get(face, "dinghy-left" if k != "b" else "dinghy-right"),
            }
            if k == "c":
                fields["side"] = "above"
            log.edit(now, {"mark": f"{face}-{k}"}, fields)
    for name, (called, kind, cls, _, _, step, scatter) in TAPES.items():
        log.edit(now, {"instrument": name}, {
            "name": called, "kind": kind, "class": cls, "resolution": step, "repeatability": scatter,
        })
    usual = {"marker": "soft-pencil", "drawn": "inside"}
    for eye in EYES:
        log.edit(now, {"feature": eye}, {
            "face": "head", "name": "Eye", "hand": eye.removeprefix("eye-"), "side": "above",
            "outline": {"shape": "circle", "diameter": mm(34)}, "rule": line("head"), "turn": 0.0,
            "tolerance": 2.0, "finish": "black, gloss, second coat", **usual,
        })
    log.edit(now, {"pair": "eyes"}, {
        "name": "Eyes", "left": "eye-left", "right": "eye-right", "level": 2.0, "apart": 3.0, "equal": 2.0,
    })
    log.edit(now, {"feature": "panel"}, {
        "face": "transom", "name": "Name panel", "side": "above", "rule": line("transom"), "turn": 0.0,
        "outline": {"shape": "rounded-box", "width": mm(240), "height": mm(60), "corner": mm(12)},
        "tolerance": 3.0, "finish": "cream, satin, first coat", **usual,
    })
    for face, (right, up) in BOLTS.items():
        side = face.removeprefix("slope-")
        log.edit("2026-11-02 10:00", {"fixing": f"saddle-{side}"}, {
            "name": f"Saddle bolts, {side} slope", "joint": "otter-on-dinghy", "thread": "M8", "face": face,
            "rule": line(face), "from": f"{face}-a", "right": mm(right), "up": mm(up),
            "pattern": {"holes": "row", "count": 2, "pitch": mm(PITCH)}, "purpose": "bolt", "width": "coarse",
            "hand-reaches": "no", "held-by": "tapped-plate", "plate": mm(8), "room": mm(320),
            "layers": [{"name": "dinghy skin", "measured": mm(7.5)}], "to-edge": mm(60),
        })
    spot = lambda i, s: {"id": i, "name": s[0], "across": mm(s[1]), "back": mm(s[2])}  # noqa: E731
    log.edit("2026-11-02 10:20", {"joint": "otter-on-dinghy"}, {
        "name": "Otter on dinghy", "base": "dinghy", "figure": "otter", "locating-dimension": mm(LOCATING),
        "within": 2.0, "bedded": "own-base", "bed-least": 2.0, "bed-greatest": 7.0, "edge": 180.0,
        "pads": [{**spot(i, s), "slope": SLOPE, "falls": s[3]} for i, s in PADS.items()],
        "stations": [spot(i, s) for i, s in STATIONS.items()],
        "layers": [{"name": "release film", "thickness": 0.1, "while_bedding": True, "finished": False}],
    })


def readings(log, casting, part, pull, tapes, rng, day, times):
    for face in [f for f, p in PART.items() if p == part]:
        head = face == "head"
        at = {k: pull.head(p, k) if head else pull.flat(face, p, k) for k, p in (HEAD if head else FLAT[face]).items()}
        points = {k: {"mark": f"{face}-{k}"} for k in at}
        if times > 2:  # the pattern: the middles of what lies on it too
            for name, p in EYES.items() if head else [("panel", PANEL)] if face == "transom" else []:
                at[name] = pull.head(p) if head else pull.flat(face, p)
                points[name] = {"feature": name}
        names = list(at)
        how, tape = ("over", "soft-tape") if head else ("straight", "pocket-tape")
        for i, p in enumerate(names):
            for q in names[i + 1:]:
                if p in EYES and q in EYES:
                    continue
                true = pull.over(at[p], at[q]) if head else math.dist(at[p], at[q])
                for _ in range(times):
                    log.say(BENCH, f"{day} 10:00", "reading", {
                        "casting": casting, "of": {"read": how, "from": points[p], "to": points[q]},
                        "value": mm(tapes[tape].reads(true, rng)), "instrument": tape, "stage": "measured",
                    })


def holes_at(pull, face):
    """The two holes by the rule on the true marks: half the difference to each end, q kept."""
    nominal = FLAT[face]
    marks = {k: pull.flat(face, p, k) for k, p in nominal.items()}
    long, true = math.dist(nominal["a"], nominal["b"]), math.dist(marks["a"], marks["b"])
    right, up = BOLTS[face]
    foot = true / 2 + right - long / 2
    ux, uy = ((marks["b"][i] - marks["a"][i]) / true for i in (0, 1))
    at = lambda u: (marks["a"][0] + ux * u - uy * up, marks["a"][1] + uy * u + ux * up)  # noqa: E731
    return [at(foot - PITCH / 2), at(foot + PITCH / 2)]


def holes(pull, face):
    marks = {k: pull.flat(face, p, k) for k, p in FLAT[face].items()}
    both = holes_at(pull, face)
    return [{k.upper(): round(math.dist(hole, m), 3) for k, m in marks.items()} for hole in both]


def off(edge, p):
    """How far to the left of a line, seen from its first end, a place lies: square from it."""
    (ax, ay), (bx, by) = edge
    return ((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / math.dist(*edge)


def edges(log, pulls, truth):
    """Two edges of the right slope, as they left the mould, read square from marks of every dinghy; the
    jig of that slope's bolts stands against them. By a chance of its own: what was said before stays."""
    rng, face = random.Random(SEED + 1), STOPS_ON
    when = "2026-11-20 09:00"
    log.edit(when, {"instrument": "square"}, {
        "name": "Square and rule", "kind": "square", "resolution": 0.5, "repeatability": 0.3,
    })
    for name, (letter, lies, _) in EDGES.items():
        log.edit(when, {"edge": f"{face}-{name}"}, {"face": face, "letter": letter, "made": "moulded", "lies": lies})
    log.edit(when, {"fixing": f"saddle-{face.removeprefix('slope-')}"}, {
        "stops": [{"edge": f"{face}-{name}", "at": f"{face}-{mark}"} for name, mark in STOPS],
    })
    for casting, pull in pulls.items():
        if not casting.startswith("dinghy"):
            continue
        pattern = casting == "dinghy-pattern"
        runs = {
            name: [tuple(v + rng.gauss(0, 0.0 if pattern else 0.3) for v in pull.flat(face, p)) for p in ends]
            for name, (_, _, ends) in EDGES.items()
        }
        at = {k: pull.flat(face, p, k) for k, p in FLAT[face].items()}
        # On the pattern all three marks, where the design is set out; on a casting what its stops want.
        for name, mark in [(e, k) for e in EDGES for k in "abc"] if pattern else STOPS:
            log.say(BENCH, "2026-11-20 10:00", "reading", {
                "casting": casting, "of": {"read": "square", "edge": f"{face}-{name}", "to": {"mark": f"{face}-{mark}"}},
                "value": mm(half(off(runs[name], at[mark]) + rng.gauss(0, 0.3))), "instrument": "square",
                "hooked": True, "stage": "measured",
            })
        if not pattern:
            bolts = holes_at(pull, face)
            truth["edges"][f"p{casting.removeprefix('dinghy-')}"] = {
                name: [round(off(edge, hole), 3) for hole in bolts] for name, edge in runs.items()
            }


def seat(log, n, rng, day, truth):
    """Heights over the board of both castings. The dinghy's ridge is 200 up; its sides fall at 35 degrees."""
    lift = BED / math.sin(math.pi / 2 - SLOPE)  # t / sin of the half-angle
    lean = (rng.gauss(0, 0.004), rng.gauss(0, 0.004))
    heights = {}
    for i, (_, x, y, *_) in [*PADS.items(), *STATIONS.items()]:
        base = 200.0 - abs(x) * math.tan(SLOPE) + rng.gauss(0, 0.3)
        rise = lift if i in PADS else LOCATING
        figure = base + rise + lean[0] * x + lean[1] * y + rng.gauss(0, 0.3) - 100.0
        for casting, value in ((f"dinghy-{n}", base), (f"otter-{n}", figure)):
            log.say(BENCH, f"{day} 14:00", "seat-reading", {
                "joint": "otter-on-dinghy", "read": "height", "casting": casting, "spot": i,
                "value": mm(half(value)),
            })
            heights[f"{casting} {i}"] = round(value, 3)
    truth["heights"].update(heights)


def main():
    rng = random.Random(SEED)
    log, truth = Log(), {"holes": {}, "heights": {}, "pulls": {}, "edges": {}}
    tapes = {name: Tape(name, rng) for name in TAPES}
    design(log, half(2 * math.pi * RADIUS))
    pulls = {}
    for part in ("dinghy", "otter"):
        casting = f"{part}-pattern"
        pulls[casting] = Pull(rng, True)
        log.edit("2026-11-02 10:30", {"casting": casting}, {"part": part, "number": "pattern", "pattern": True})
        readings(log, casting, part, pulls[casting], tapes, rng, "2026-11-03", 3)
    batch = [b for b, size in enumerate(BATCHES, 1) for _ in range(size)]
    for n in range(1, PIECES + 1):
        log.edit("2026-11-02 10:40", {"piece": f"p{n}"}, {"number": n, "batch": batch[n - 1]})
    for n in range(1, PIECES + 1):
        day = f"2026-11-{4 + n:02d}"
        for part in ("dinghy", "otter"):
            casting = f"{part}-{n}"
            pulls[casting] = Pull(rng, False)
            log.edit(f"{day} 08:00", {"casting": casting}, {
                "part": part, "mould": f"{part}-mould", "number": f"{part[0].upper()}{n}", "pull": n,
                "pattern": False, "demoulded": day,
            })
            for stage in ("pulled", "measured"):
                log.say(BENCH, f"{day} 09:00", "stage", {"casting": casting, "stage": stage, "day": day})
            readings(log, casting, part, pulls[casting], tapes, rng, day, 2)
        log.say(OFFICE, f"{day} 13:00", "marriage", {"piece": f"p{n}", "castings": [f"dinghy-{n}", f"otter-{n}"]})
        seat(log, n, rng, day, truth)
        truth["holes"][f"p{n}"] = {f"saddle-{f.removeprefix('slope-')}": holes(pulls[f"dinghy-{n}"], f) for f in BOLTS}
        truth["pulls"][f"p{n}"] = {"shrink_per_mille": [round(1000 * s, 3) for s in pulls[f"dinghy-{n}"].shrink]}
    edges(log, pulls, truth)
    job = {
        "samespot": {"format": 1, "program": "invented example, tests/reference/regatta-otters/generate.py"},
        "job": "regatta-otters", "facts": log.facts,
    }
    text = json.dumps(job, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    with zipfile.ZipFile(EXAMPLE, "w", zipfile.ZIP_STORED) as z:
        info = zipfile.ZipInfo("job.json", (1980, 1, 1, 0, 0, 0))
        info.create_system, info.external_attr = 3, 0o644 << 16
        z.writestr(info, text.encode())
    (HERE / "truth.json").write_text(json.dumps(truth, indent=1) + "\n")
    print(len(log.facts), "facts,", len(text), "bytes")


if __name__ == "__main__":
    main()
