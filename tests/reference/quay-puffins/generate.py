"""Makes the invented example *Quay puffins*: job file, truth, trials.

    python generate.py            # needs numpy and scipy; writes beside itself and public/examples/

Seeded: the same versions of numpy and scipy give the same files. Everything is invented.
"""

import json
import pathlib
import sys

import numpy as np

import job_file
from design import (
    BENT_HOOK,
    BENT_HOOK_MM,
    CENTRES,
    FACE_OF_PART,
    INCHES,
    INSTRUMENTS,
    MARKS,
    MISSING,
    PARTS,
    SLIP,
    TURN,
)
from shapes import FACES, Surface
from shortest import over, polyline_length
from tapes import Tape, sixteenths
from world import SEED, World, readings_of

HERE = pathlib.Path(__file__).resolve().parent
EXAMPLE = HERE.parents[2] / "public" / "examples" / "quay-puffins.samespot"
TRIALS = 40
STYLES = {"bollard-8": "cm", "cap-12": "comma", "puffin-3": "mm"}
SIZES = ["bollard-lower", "bollard-upper", "bollard-slant", "head-girth", "cap-gap"]


def faces_of(casting, world):
    return FACE_OF_PART[world.castings[casting]]


def sizes_read(world, tape, rng):
    """The pattern's face sizes as somebody measures them with the good tape."""
    row = world.rows["bollard-pattern", "bollard-front"]
    true = [row["lower_girth"], row["upper_girth"], row["slant"], world.girth_round_head()]
    read = [tape.rounded(tape.reads(mm, False, rng)) for mm in true]
    gap = world.gap_on_cap() + rng.normal(0, 0.2)
    return dict(zip(SIZES, [*read, np.floor(gap * 2 + 0.5) / 2]))


def job_readings(world):
    """The readings in the job, faults included, and what was planted."""
    rng = np.random.default_rng([SEED, 1])
    tapes = {name: Tape(name, rng) for name in INSTRUMENTS}
    sizes = sizes_read(world, tapes["fine-tape"], rng)
    readings, faults = {}, {}
    faults["bent_hook"] = {"castings": BENT_HOOK, "mm": BENT_HOOK_MM, "instrument": "pocket-tape"}
    for casting in world.castings:
        for face in faces_of(casting, world):
            rows = []
            for reading in readings_of(casting, face):
                how, p, q, instrument, hooked = reading
                true = world.distance[casting, face, how, p, q]
                tape = tapes[instrument]
                said = tape.reads(true, hooked, rng, bent=casting in BENT_HOOK)
                value = job_file.entry(tape.rounded(said), STYLES.get(casting, "bare"))
                planted = {
                    "casting": casting,
                    "of": job_file.measured(face, reading),
                    "instrument": instrument,
                    "true_mm": round(true, 3),
                }
                if (casting, face, reading, SLIP[3]) == SLIP:
                    right = value["typed"]
                    value = job_file.entry(value["mm"] + SLIP[3])
                    faults["slip"] = planted | {"typed": value["typed"], "should_have_been": right}
                elif (casting, face, reading) == MISSING:
                    faults["missing"] = planted | {"would_have_been": value["typed"]}
                    value = None
                elif (casting, face, reading) == INCHES:
                    text, mm = sixteenths(said)
                    value = {"typed": text, "mm": mm, "unit": "in", "rule": "own-unit, fraction"}
                    faults["inches"] = planted | {"typed": text, "mm": mm}
                rows.append((reading, value))
            readings[casting, face] = rows
    faults["tapes"] = {
        name: {"class_share": round(t.lies, 4), "hook_mm": round(t.hook, 4)} for name, t in tapes.items()
    }
    return readings, sizes, faults


def points(xy, face):
    return {job_file.mark_id(face, m): [round(float(c), 4) for c in p] for m, p in xy.items()}


def truth(world, faults, sizes):
    castings = {}
    for casting, part in world.castings.items():
        pull = world.pulls[casting]
        faces = {}
        for face in FACE_OF_PART[part]:
            faces[face] = {"size": {k: round(v, 4) for k, v in world.rows[casting, face].items()}}
            for how in ("over", "straight"):
                faces[face][how] = [
                    [*(q if q in CENTRES else job_file.mark_id(face, q) for q in key[3:]), round(mm, 4)]
                    for key, mm in world.distance.items()
                    if key[:3] == (casting, face, how)
                ]
        features = {}
        for feature, (face, _) in CENTRES.items():
            if face not in FACE_OF_PART[part]:
                continue
            t = world.features[casting, feature]
            features[feature] = {"marks": points(t["marks"], face)}
            if "off" in t:
                features[feature]["off"] = points(t["off"], face)
        castings[casting] = {
            "part": part,
            "pattern": pull is None,
            "faces": faces,
            "features": features,
        }
        if pull is not None:
            castings[casting]["pull"] = {
                "shrink_per_mille": [round(float(k), 3) for k in pull.shrink],
                "twist_rad": round(float(pull.twist), 5),
                "oval_mm": round(float(pull.oval), 3),
                "seam_step_mm": [round(float(s), 3) for s in pull.step],
                "fills": [[round(float(h), 3), round(float(w), 2)] for _, h, w in pull.fills],
            }
    nominal = {}
    for feature, value in world.nominal.items():
        nominal[feature] = {"turn_rad": TURN[feature]}
        if feature != "badge":
            words = ("distance", "fraction", "square")
            nominal[feature] |= {w: round(float(v), 6) for w, v in zip(words, value)}
    row = world.rows["bollard-pattern", "bollard-front"]
    true_sizes = [row["lower_girth"], row["upper_girth"], row["slant"]]
    true_sizes += [world.girth_round_head(), world.gap_on_cap()]
    return {
        "about": "Invented. True values of the example Quay puffins; tests alone read this. See README.md.",
        "seed": SEED,
        "sizes": {k: {"true": round(t, 4), "typed": float(sizes[k])} for k, t in zip(SIZES, true_sizes)},
        "nominal": nominal,
        "faults": faults,
        "castings": castings,
    }


def by_line(tree):
    """JSON with one line for each entry of the first level, and for each casting."""
    dump = lambda v: json.dumps(v, separators=(",", ":"), allow_nan=False)  # noqa: E731
    parts = []
    for key, value in tree.items():
        if key == "castings":
            rows = ",\n".join(f"{dump(k)}:{dump(v)}" for k, v in value.items())
            parts.append(f"{dump(key)}:{{\n{rows}\n}}")
        else:
            parts.append(f"{dump(key)}:{dump(value)}")
    return "{\n" + ",\n".join(parts) + "\n}\n"


def number(mm):
    return int(mm) if mm == int(mm) else float(mm)


def trials(world):
    """Fresh readings of everything, each casting with fresh tapes, nothing planted."""
    rng = np.random.default_rng([SEED, 2])
    order = [
        (casting, face, reading)
        for casting in world.castings
        for face in faces_of(casting, world)
        for reading in readings_of(casting, face)
    ]
    values, sizes = [], []
    for _ in range(TRIALS):
        tapes, row = {}, []
        for casting, face, (how, p, q, instrument, hooked) in order:
            if (casting, instrument) not in tapes:
                tapes[casting, instrument] = Tape(instrument, rng)
            tape = tapes[casting, instrument]
            said = tape.reads(world.distance[casting, face, how, p, q], hooked, rng)
            row.append(number(tape.rounded(said)))
        values.append(row)
        sizes.append([number(v) for v in sizes_read(world, tapes["bollard-pattern", "fine-tape"], rng).values()])
    names = [
        [casting, how, *(p if p in CENTRES else job_file.mark_id(face, p) for p in (a, b)), instrument, hooked]
        for casting, face, (how, a, b, instrument, hooked) in order
    ]
    return {
        "about": "Invented. Re-readings of every casting and of the pattern; see README.md.",
        "reading_fields": ["casting", "how", "from", "to", "instrument", "hooked"],
        "readings": names,
        "size_fields": SIZES,
        "sizes": sizes,
        "values": values,
    }


def check_shortest(world):
    """The same lengths by shortening a chain of chords: they agree to 0.002 mm."""
    rng = np.random.default_rng(3)
    for part in PARTS:
        face = FACES[FACE_OF_PART[part][0]]
        ends = MARKS[FACE_OF_PART[part][0]]
        casting = f"{part}-{rng.integers(1, 19)}"
        surface = Surface(face, [world.pulls[casting]])
        a, b = np.array(ends["a"]), np.array(ends["b"])
        one, other = over(surface, a[None, None], b[None, None]).item(), polyline_length(surface, a, b)
        assert abs(one - other) < 0.002, (casting, one, other)


def misses(world):
    """Where the drawing's own stencil would land, laid A on A, then along B: mm by feature."""
    table = {}
    for feature, (face, _) in CENTRES.items():
        part = next(p for p in PARTS if face in FACE_OF_PART[p])
        drawn = world.features[f"{part}-pattern", feature]["marks"]
        out = []
        for n in range(1, 19):
            found = world.features[f"{part}-{n}", feature]["marks"]
            d, f = drawn["b"] - drawn["a"], found["b"] - found["a"]
            turn = np.arctan2(f[1], f[0]) - np.arctan2(d[1], d[0])
            c, s = np.cos(turn), np.sin(turn)
            out.append(float(np.hypot(*(found["a"] - np.array([[c, -s], [s, c]]) @ drawn["a"]))))
        table[feature] = out
    return table


def main():
    world = World()
    check_shortest(world)
    readings, sizes, faults = job_readings(world)
    facts = job_file.write(EXAMPLE, readings, sizes)
    (HERE / "truth.json").write_text(by_line(truth(world, faults, sizes)))
    (HERE / "trials.json").write_text(json.dumps(trials(world), separators=(",", ":")) + "\n")
    print(len(facts), "facts;", EXAMPLE.stat().st_size, "bytes")
    for feature, out in misses(world).items():
        print(feature, " ".join(f"{m:.1f}" for m in out))
        print(f"  least {min(out):.1f} median {np.median(out):.1f} most {max(out):.1f}")
    json.dump(faults, sys.stdout, indent=1)


if __name__ == "__main__":
    main()
