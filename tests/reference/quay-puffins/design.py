"""What the invented job asks for: faces, marks, features, readings. Data only."""

import numpy as np

BATCHES = [3, 6, 6, 3]
PARTS = ["bollard", "cap", "puffin"]
FACE_OF_PART = {
    "bollard": ["bollard-front"],
    "cap": ["cap-front"],
    "puffin": ["head-left", "head-right"],
}
PART_OF_FACE = {f: p for p, fs in FACE_OF_PART.items() for f in fs}

# Where the maker put the pips on the pattern, in the face's chart (shapes.py). On every face,
# seen from outside: A left, B right, C above, D below.
MARKS = {
    "bollard-front": {"a": (-186.0, 372.0), "b": (189.0, 369.0), "c": (-183.5, 540.5)},
    "cap-front": {"a": (-63.0, 1.5), "b": (64.5, -2.0), "c": (3.0, 59.0), "d": (-4.0, -60.5)},
    "head-left": {"a": (-54.0, 4.0), "b": (56.5, -3.0), "c": (-9.0, 62.0)},
    "head-right": {"a": (-57.0, -2.2), "b": (54.6, 3.6), "c": (8.2, 61.4)},
}
CENTRES = {
    "band": ("bollard-front", (4.0, 391.0)),
    "badge": ("cap-front", (1.0, -0.5)),
    "eye-left": ("head-left", (-1.8, -7.5)),
    "eye-right": ("head-right", (1.2, -7.0)),
}
TURN = {"band": 0.0, "badge": 0.0, "eye-left": np.radians(16.0), "eye-right": np.radians(-16.0)}
TOLERANCE = {"band": 3.0, "badge": 3.0, "eye-left": 2.0, "eye-right": 2.0}
# The outline point furthest from the centre, for reporting only.
REACH = {"band": 125.0, "badge": 36.0, "eye-left": 31.0, "eye-right": 31.0}

# On each casting, at most six readings a face: (how, from, to, instrument, from the hook).
CASTING_READINGS = {
    "bollard-front": [
        ("over", "a", "b", "soft-tape", False),
        ("over", "a", "b", "pocket-tape", True),
        ("over", "a", "c", "soft-tape", False),
        ("over", "a", "c", "pocket-tape", True),
        ("over", "b", "c", "soft-tape", False),
        ("over", "b", "c", "pocket-tape", True),
    ],
    "cap-front": [
        ("over", "a", "b", "fine-tape", False),
        ("over", "c", "d", "fine-tape", False),
        ("over", "a", "c", "soft-tape", False),
        ("over", "b", "c", "soft-tape", False),
        ("over", "b", "d", "soft-tape", False),
        ("over", "a", "d", "soft-tape", False),
    ],
    "head-left": [
        ("over", "a", "b", "soft-tape", False),
        ("over", "a", "b", "pocket-tape", True),
        ("over", "a", "b", "fine-tape", False),
        ("over", "a", "c", "soft-tape", False),
        ("over", "a", "c", "fine-tape", False),
        ("over", "b", "c", "soft-tape", False),
    ],
}
CASTING_READINGS["head-right"] = CASTING_READINGS["head-left"]


def pattern_readings(face):
    """On the pattern: every distance between marks and centre three times with the good tape."""
    feature = next(f for f, (on, _) in CENTRES.items() if on == face)
    points = list(MARKS[face]) + [feature]
    asked = []
    for i, p in enumerate(points):
        for q in points[i + 1 :]:
            asked += [("over", p, q, "fine-tape", False)] * 3
    return asked


# What a reading may have wrong: OIML R 35-1:2007, 3.2 and 3.3: a + b*L mm with L in whole metres
# rounded up, and c where one end is a hook. Scatter, pointing (both ends of a reading together) and
# the step read to, in mm: common practice, no source.
CLASSES = {"I": (0.1, 0.1, 0.1), "II": (0.3, 0.2, 0.2)}
INSTRUMENTS = {
    "soft-tape": dict(
        name="Soft tape, grey", kind="soft-tape", cls="II", step=1.0, scatter=0.4, pointing=0.3
    ),
    "pocket-tape": dict(
        name="Pocket tape, 5 m", kind="pocket-tape", cls="II", step=0.5, scatter=0.3, pointing=0.3
    ),
    # Kept in its box, read with a glass.
    "fine-tape": dict(
        name="Soft tape, white, class I", kind="soft-tape", cls="I", step=0.5, scatter=0.15, pointing=0.2
    ),
}

# Planted faults, all in the job and none in the trials.
SLIP = ("puffin-11", "head-left", ("over", "a", "b", "soft-tape", False), 10.0)
MISSING = ("cap-9", "cap-front", ("over", "a", "d", "soft-tape", False))
INCHES = ("bollard-4", "bollard-front", ("over", "a", "c", "soft-tape", False))
BENT_HOOK_MM = 1.4
BENT_HOOK = [f"{part}-{n}" for n in (13, 14, 15) for part in ("bollard", "puffin")]
