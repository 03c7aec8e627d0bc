"""The invented job *Quay puffins* as facts, in the published form of a `.samespot` file."""

import datetime
import json
import math
import zipfile

from design import (
    BATCHES,
    CASTING_READINGS,
    CENTRES,
    FACE_OF_PART,
    INSTRUMENTS,
    MARKS,
    PARTS,
    TOLERANCE,
    TURN,
)

OFFICE, BENCH = "00000000000000a1", "00000000000000b2"
WHO = {OFFICE: "Office (invented)", BENCH: "Bench (invented)"}
# Castings come trimmed and numbered; each puffin is drilled and bolted down in its finished coat.
STAGES = [
    "pulled", "cleaned up", "measured", "primed", "painted", "lacquered", "bracket in", "dry fit",
    "holes", "married", "checked", "gone", "returned",
]  # fmt: skip
SECTIONS = {
    "bollard": [("bollard-left", "left half"), ("bollard-right", "right half")],
    "cap": [("cap-shell", "all of it")],
    "puffin": [("puffin-left", "left half"), ("puffin-right", "right half")],
}
FACE_NAMES = {
    "bollard-front": ("Bollard, front", "from the front"),
    "cap-front": ("Cap, front", "from the front"),
    "head-left": ("Head, left side", "from the figure's left"),
    "head-right": ("Head, right side", "from the figure's right"),
}
FOUND = {
    "bollard-front": {
        "a": "moulded-in pip, left, a hand's breadth from the side",
        "b": "moulded-in pip, right, level with A",
        "c": "moulded-in pip above A, under the rim",
    },
    "cap-front": {
        "a": "moulded-in pip left of the badge",
        "b": "moulded-in pip right of the badge",
        "c": "moulded-in pip above the badge, before the feet",
        "d": "moulded-in pip below the badge, at the rim",
    },
    "head-left": {
        "a": "moulded-in pip at the root of the bill",
        "b": "moulded-in pip behind the eye",
        "c": "moulded-in pip on the crown, above the eye",
    },
    "head-right": {
        "a": "moulded-in pip behind the eye",
        "b": "moulded-in pip at the root of the bill",
        "c": "moulded-in pip on the crown, above the eye",
    },
}
# On which side of the line from A to B, as somebody looking says it. The badge sits on that line.
SIDE = {"c": "above", "d": "below", "band": "above", "eye-left": "below", "eye-right": "below"}


def section_of(face, letter):
    """The mould section a pip was cast in (the bollard's seam runs up the front)."""
    if face == "bollard-front":
        return "bollard-right" if letter in "ac" else "bollard-left"
    return {"cap-front": "cap-shell", "head-left": "puffin-left", "head-right": "puffin-right"}[face]


def mark_id(face, letter):
    return f"{face}-{letter}"


def point(face, name):
    if name in CENTRES:
        return {"feature": name}
    return {"mark": mark_id(face, name)}


def measured(face, reading):
    how, p, q, *_ = reading
    return {"read": how, "from": point(face, p), "to": point(face, q)}


def mm(value):
    text = f"{value:.1f}".removesuffix(".0")
    number = "decimal-point" if "." in text else "whole"
    return {"typed": text, "mm": float(value), "unit": "mm", "rule": f"field-unit, {number}"}


def entry(value, style="bare"):
    """A reading as somebody typed it."""
    e = mm(value)
    if style == "cm":
        text = f"{value / 10:.2f}".rstrip("0").rstrip(".")
        number = "decimal-point" if "." in text else "whole"
        e.update(typed=text + "cm", unit="cm", rule=f"own-unit, {number}")
    elif style == "comma":
        e["typed"] = e["typed"].replace(".", ",")
        e["rule"] = e["rule"].replace("point", "comma")
    elif style == "mm":
        e["typed"] += " mm"
        e["rule"] = e["rule"].replace("field", "own")
    return e


def piece_batch(n):
    last = 0
    for batch, size in enumerate(BATCHES, 1):
        last += size
        if n <= last:
            return batch
    raise ValueError(n)


def workday(start, days):
    day = start
    while days > 0:
        day += datetime.timedelta(days=1)
        days -= day.weekday() < 5
    return day


class Log:
    """Facts in the order they were said, by two devices that see each other's."""

    def __init__(self):
        self.facts = []
        self.heads = {}

    def say(self, replica, when, kind, payload):
        seq = self.heads.get(replica, 0) + 1
        seen = {r: s for r, s in sorted(self.heads.items()) if r != replica}
        fact = {"id": {"replica": replica, "seq": seq}, "lamport": len(self.facts) + 1}
        if seen:
            fact["seen"] = seen
        fact.update(wall=when, who=WHO[replica], kind=kind, v=1, payload=payload)
        self.heads[replica] = seq
        self.facts.append(fact)

    def edit(self, when, on, fields, replica=OFFICE):
        self.say(replica, when, "edit", {"on": on, "set": fields})


def design_facts(log, sizes):
    """What the office set up on the day of issue 1."""
    now = "2026-10-05 09:10"
    log.edit(now, "job", {
        "title": "Quay puffins (invented)",
        "prepared-for": "an invented harbour town",
        "unit": "mm",
        "invented": True,
        "pieces": 18,
        "paper": "a4",
        "stages": STAGES,
    })
    log.edit(now, {"issue": "issue-1"}, {
        "number": 1, "date": "2026-10-05", "reason": "first release",
        "asked-by": "the town (invented)", "approved-by": "the maker (invented)",
        "from-piece": 1, "to-piece": 18,
    })
    for part in PARTS:
        log.edit(now, {"mould": f"{part}-mould"}, {
            "name": f"{part.capitalize()} mould",
            "sections": [{"id": i, "name": n} for i, n in SECTIONS[part]],
            "shrinkage-per-mille": 2.0,
        })
        log.edit(now, {"part": part}, {"name": part.capitalize(), "mould": f"{part}-mould"})
    log.edit(now, {"joint": "cap-on-bollard"}, {
        "name": "Cap on bollard", "base": "bollard", "figure": "cap", "locating-dimension": mm(12.0),
    })
    log.edit(now, {"joint": "puffin-on-cap"}, {
        "name": "Puffin on cap", "base": "cap", "figure": "puffin", "locating-dimension": mm(96.0),
    })
    head = {"kind": "dome", "size": {"by": "girth", "girth": mm(sizes["head-girth"])}}
    shapes = {
        "bollard-front": {
            "kind": "cone",
            "lower": {"by": "girth", "girth": mm(sizes["bollard-lower"])},
            "upper": {"by": "girth", "girth": mm(sizes["bollard-upper"])},
            "slant": mm(sizes["bollard-slant"]),
        },
        "cap-front": {
            "kind": "dome",
            "size": {"by": "straight-edge", "length": mm(200.0), "gap": mm(sizes["cap-gap"]), "read_to": mm(0.5)},
        },
        "head-left": head,
        "head-right": head,
    }
    for part in PARTS:
        for face in FACE_OF_PART[part]:
            name, seen_from = FACE_NAMES[face]
            log.edit(now, {"face": face}, {
                "part": part, "name": name, "shape": shapes[face], "seen-from": seen_from,
            })
            for letter in MARKS[face]:
                fields = {
                    "face": face, "letter": letter.upper(), "found": FOUND[face][letter],
                    "section": section_of(face, letter), "hidden": False,
                    "from-stage": "cleaned up", "to-stage": "painted",
                }
                if letter in SIDE:
                    fields["side"] = SIDE[letter]
                log.edit(now, {"mark": mark_id(face, letter)}, fields)
    for name, info in INSTRUMENTS.items():
        log.edit(now, {"instrument": name}, {
            "name": info["name"], "kind": info["kind"], "class": info["cls"],
            "resolution": info["step"], "repeatability": info["scatter"],
        })
    _features(log, "2026-10-05 09:40")
    for part in PARTS:
        asks = []
        for face in FACE_OF_PART[part]:
            for reading in CASTING_READINGS[face]:
                if measured(face, reading) not in asks:
                    asks.append(measured(face, reading))
        log.edit("2026-10-05 10:05", {"measuring-list": f"{part}-list"}, {"part": part, "asks": asks})


def _features(log, now):
    outlines = {
        "band": {"shape": "lettering", "text": "QUAY PUFFINS", "capitals": mm(30.0)},
        "badge": {"shape": "circle", "diameter": mm(72.0)},
        "eye-left": {"shape": "oval", "width": mm(62.0), "height": mm(48.0)},
        "eye-right": {"shape": "oval", "width": mm(62.0), "height": mm(48.0)},
    }
    about = {
        "band": ("Lettered band", "white, satin, second coat"),
        "badge": ("Badge", "signal yellow, gloss, first coat"),
        "eye-left": ("Eye", "black, gloss, second coat"),
        "eye-right": ("Eye", "black, gloss, second coat"),
    }
    for feature, (face, _) in CENTRES.items():
        if feature == "badge":
            rule = {
                "rule": "best-fit",
                "marks": [{"mark": mark_id(face, m), "weight": 1.0} for m in MARKS[face]],
                "scale": False,
            }
        else:
            rule = {
                "rule": "line", "from": mark_id(face, "a"), "to": mark_id(face, "b"),
                "side": mark_id(face, "c"), "along": {"by": "difference-split"},
            }
        name, finish = about[feature]
        fields = {
            "face": face, "name": name, "outline": outlines[feature], "turn": TURN[feature],
            "rule": rule, "tolerance": TOLERANCE[feature], "marker": "soft-pencil",
            "drawn": "inside", "finish": finish,
        }
        if feature in SIDE:
            fields["side"] = SIDE[feature]
        if feature.startswith("eye"):
            fields["hand"] = feature.removeprefix("eye-")
        if face != "bollard-front":
            fields["section"] = section_of(face, "a")
        log.edit(now, {"feature": feature}, fields)
    log.edit(now, {"pair": "eyes"}, {
        "name": "Eyes", "left": "eye-left", "right": "eye-right",
        "level": 2.0, "apart": 3.0, "equal": 2.0,
    })


def _readings(log, casting, part, day, readings, stage):
    minute = 0
    for face in FACE_OF_PART[part]:
        for reading, value in readings[casting, face]:
            if value is None:
                continue
            how, p, q, instrument, hooked = reading
            payload = {"casting": casting, "of": measured(face, reading), "value": value, "instrument": instrument}
            if hooked:
                payload["hooked"] = True
            payload["stage"] = stage
            log.say(BENCH, f"{day} {10 + minute // 60:02d}:{minute % 60:02d}", "reading", payload)
            minute += 1


def run_facts(log, readings):
    """Patterns, pieces, and what happened to each casting."""
    for part in PARTS:
        casting = f"{part}-pattern"
        log.edit("2026-10-05 10:30", {"casting": casting}, {
            "part": part, "number": "pattern", "pattern": True,
        })
        log.say(BENCH, "2026-10-06 08:30", "stage", {"casting": casting, "stage": "measured", "day": "2026-10-06"})
        _readings(log, casting, part, "2026-10-06", readings, "measured")
    for n in range(1, 19):
        log.edit("2026-10-05 10:40", {"piece": f"p{n}"}, {"number": n, "batch": piece_batch(n)})
    start = datetime.date(2026, 10, 6)
    for n in range(1, 19):
        pulled, cleaned, read, primed, painted = (workday(start, n + d) for d in (0, 1, 2, 5, 8))
        castings = []
        for part in PARTS:
            casting = f"{part}-{n}"
            castings.append(casting)
            # The puffin's fifth pull was scrapped, so from piece 5 on pull and piece differ.
            pull = n + 1 if part == "puffin" and n >= 5 else n
            log.edit(f"{pulled} 08:05", {"casting": casting}, {
                "part": part, "mould": f"{part}-mould", "number": f"{part[0].upper()}{n}",
                "pull": pull, "pattern": False, "demoulded": f"{pulled}",
            }, BENCH)
            log.say(BENCH, f"{pulled} 08:10", "stage", {"casting": casting, "stage": "pulled", "day": f"{pulled}"})
            if part != "cap":
                log.say(BENCH, f"{cleaned} 11:00", "done", {
                    "casting": casting, "what": "seam filled and sanded fair",
                    "on": {"face": FACE_OF_PART[part][0]},
                })
            for stage, day in (("cleaned up", cleaned), ("measured", read)):
                log.say(BENCH, f"{day} 09:55", "stage", {"casting": casting, "stage": stage, "day": f"{day}"})
            _readings(log, casting, part, read, readings, "measured")
            if n <= 9:
                log.say(BENCH, f"{primed} 16:00", "stage", {"casting": casting, "stage": "primed", "day": f"{primed}"})
            if n <= 6:
                log.say(BENCH, f"{painted} 16:30", "stage", {"casting": casting, "stage": "painted", "day": f"{painted}"})
        log.say(OFFICE, f"{read} 17:00", "marriage", {"piece": f"p{n}", "castings": castings})
        if n == 9:
            log.say(BENCH, f"{read} 17:20", "mould-event", {
                "mould": "bollard-mould", "what": "seam flange dressed and re-pinned", "after_pull": 9,
            })


def write(path, readings, sizes):
    """readings: (casting, face) -> [(reading, entry or None)]."""
    log = Log()
    design_facts(log, sizes)
    run_facts(log, readings)
    job = {
        "samespot": {"format": 1, "program": "invented example, tests/reference/quay-puffins/generate.py"},
        "job": "quay-puffins",
        "facts": log.facts,
    }
    text = json.dumps(job, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as z:
        info = zipfile.ZipInfo("job.json", (1980, 1, 1, 0, 0, 0))
        info.create_system = 3
        info.external_attr = 0o644 << 16
        z.writestr(info, text.encode())
    assert all(math.isfinite(f["lamport"]) for f in log.facts)
    return log.facts
