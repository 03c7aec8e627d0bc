"""The bolts that hold each puffin's bracket to its cap: facts added at the end of the example.

    python holes.py           # rewrites public/examples/

Run it after seat.py. The front of the cap is a dome, so the four bolts are parallel to each other and
square to the face at the middle of their pattern only. Nobody reaches under a closed cap: a tapped
plate. Everything that stands in the file stays byte for byte; what an earlier run of this step added
goes first. Everything is invented.
"""

import json
import pathlib
import zipfile

HERE = pathlib.Path(__file__).resolve().parent
EXAMPLE = HERE.parents[2] / "public" / "examples" / "quay-puffins.samespot"
REPLICA, WHO = "00000000000000d4", "Office (invented)"


def mm(value):
    return {"typed": str(value), "mm": float(value), "unit": "mm", "rule": "field-unit, whole"}


def facts():
    marks = [{"mark": f"cap-front-{k}", "weight": 1.0} for k in "abcd"]
    yield "2026-11-12 08:30", "edit", {"on": {"fixing": "bracket"}, "set": {
        "name": "Bracket bolts", "joint": "puffin-on-cap", "thread": "M10", "face": "cap-front",
        "rule": {"rule": "best-fit", "marks": marks, "scale": False},
        "from": "cap-front-c", "right": mm(0), "up": mm(55),
        "pattern": {"holes": "rectangle", "across": mm(70), "up": mm(45)},
        "purpose": "bolt", "width": "coarse", "hand-reaches": "no",
        "layers": [{"name": "cap skin", "glass": ["450 g", "450 g", "600 g", "450 g", "450 g"]}],
        "to-edge": mm(90),
    }}
    for hole in range(1, 5):
        drilled = {"piece": "p1", "fixing": "bracket", "hole": hole}
        if hole == 3:
            drilled["became"] = "slot 12 × 14, filed to the right"
        yield "2026-11-12 11:00", "drilled", drilled


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
    added = [{
        "id": {"replica": REPLICA, "seq": k}, "lamport": lamport + k, "seen": dict(sorted(heads.items())),
        "wall": wall, "who": WHO, "kind": kind, "v": 1, "payload": payload,
    } for k, (wall, kind, payload) in enumerate(facts(), 1)]
    job["facts"] = before + added
    with zipfile.ZipFile(EXAMPLE, "w", zipfile.ZIP_STORED) as z:
        info = zipfile.ZipInfo("job.json", (1980, 1, 1, 0, 0, 0))
        info.create_system, info.external_attr = 3, 0o644 << 16
        z.writestr(info, dump(job).encode())
        for i, content in others:
            z.writestr(i, content)
    print(len(before), "facts kept,", len(added), "added")


if __name__ == "__main__":
    main()
