"""The true shapes of the invented example *Quay puffins*: the pattern, and what a pull does to it.

Everything here is invented. Nothing is shared with the program under test: the pattern is a
parametric surface that is only nearly a cone or a ball, and a casting is that surface pushed
through a map of space (shrunk by section, ovalled, twisted, stepped at the seam, filled and
sanded). No closed form for a distance exists on any of these surfaces; see shortest.py.

Part frame, mm: x to the right of somebody looking at the front, y away from them, z up; the
front looks along -y. The figure's own left is +x. Every face has a chart (a, b), roughly mm,
a to the right and b up as seen from outside; it serves only to name points.
"""

import numpy as np


def _unit(v):
    v = np.asarray(v, float)
    return v / np.linalg.norm(v)


class TaperedFace:
    """The bollard: lower line at b = 0, upper line at b = slant."""

    kind = "cone"
    slant = 560.0
    lower_radius = 214.9
    upper_radius = 171.9
    turn_scale = 200.0  # a / turn_scale is the angle round the axis
    steps = 80  # steps along a shortest path: the seam is faired over about 30 mm

    def on_pattern(self, ab):
        a, b = ab[..., 0], ab[..., 1]
        t = b / self.slant
        turn = a / self.turn_scale
        taper = (self.upper_radius - self.lower_radius) / self.slant
        r = self.lower_radius + taper * b
        # The maker's hand: a little full at mid height, a little oval, a flat on the front right.
        r = r + 0.30 * np.sin(np.pi * t)
        r = r + 0.25 * np.cos(2 * (turn - 0.6)) * (1 - 0.5 * t)
        r = r - 0.20 * np.exp(-(((turn - 0.9) / 0.35) ** 2) - (((t - 0.4) / 0.3) ** 2))
        z = b * np.sqrt(1 - taper * taper)
        out = np.stack([np.sin(turn), -np.cos(turn), np.zeros_like(turn)], -1)
        return out * r[..., None] + np.stack([0 * z, 0 * z, z], -1), out


class RoundFace:
    """A patch of a nearly round body: `towards` is the direction of its middle from the body's centre."""

    kind = "dome"
    steps = 24

    def __init__(self, radius, towards, wobble):
        self.radius = radius
        self.n = _unit(towards)
        up = np.array([0.0, 0.0, 1.0])
        self.v = _unit(up - self.n * (up @ self.n))
        self.u = np.cross(self.v, self.n)
        self.wobble = wobble

    def on_pattern(self, ab):
        # A central projection onto the tangent plane names the points of the patch.
        d = (
            self.n
            + ab[..., :1] / self.radius * self.u
            + ab[..., 1:] / self.radius * self.v
        )
        d = d / np.sqrt((d * d).sum(-1, keepdims=True))
        return self.body(d), d

    def body(self, d):
        """The whole body in direction d (unit)."""
        return d * (self.radius + self.wobble(d))[..., None]


def head_wobble(d):
    """The carved head: fuller at the crown, flatter cheeks, not quite alike left and right."""
    x, y, z = d[..., 0], d[..., 1], d[..., 2]
    return 0.35 * (z * z - 1 / 3) - 0.3 * (x * x - 1 / 3) + 0.25 * x * y * z + 0.15 * x


def cap_wobble(d):
    """The turned cap: a trace of the lathe's centre and a hand-faired front."""
    x, y, z = d[..., 0], d[..., 1], d[..., 2]
    return 0.09 * np.cos(9 * np.arccos(np.clip(z, -1, 1))) + 0.25 * y * x - 0.2 * y * y


HEAD_RADIUS = 118.0
CAP_RADIUS = 240.0

FACES = {
    "bollard-front": TaperedFace(),
    "cap-front": RoundFace(CAP_RADIUS, [0.0, -np.sin(0.471), np.cos(0.471)], cap_wobble),
    "head-left": RoundFace(HEAD_RADIUS, [0.84, -0.44, 0.30], head_wobble),
    "head-right": RoundFace(HEAD_RADIUS, [-0.84, -0.44, 0.30], head_wobble),
}


class Pull:
    """What moulding, demoulding and cleaning up did to one casting."""

    def __init__(self, part, rng):
        self.part = part
        general = rng.uniform(1.2, 3.8)
        # Left (x > 0) and right section, parts per thousand; 1 to 4 in all.
        self.shrink = np.clip(general + rng.normal(0, 0.35, 2), 1.0, 4.0)
        self.height = {"bollard": 558.0, "cap": 70.0, "puffin": 240.0}[part]
        self.twist = rng.uniform(-1, 1) * {"bollard": 0.010, "cap": 0.002, "puffin": 0.006}[part]
        self.oval = rng.uniform(0.2, 1.0) * {"bollard": 1.6, "cap": 0.6, "puffin": 0.5}[part]
        self.oval_towards = rng.uniform(0, np.pi)
        if part == "cap":
            # One mould section: no seam to step at, and one shrinkage.
            self.shrink[1] = self.shrink[0]
            self.step = np.zeros(3)
        else:
            along = rng.uniform(0, 3.0) * rng.choice([-1, 1])
            proud = rng.uniform(0, 1.2) * rng.choice([-1, 1])
            self.step = np.array([0.0, proud, along])
        self.faired = 15.0
        self.fills = []

    def fill(self, centre, height, width):
        """Filler left proud (+) or sanded hollow (-) about a point of the pattern."""
        self.fills.append((np.asarray(centre, float), height, width))



class Pulls:
    """Several pulls of one part at once: points come as (..., casting, point, 3)."""

    def __init__(self, pulls):
        def column(values):
            return np.array(values, float)[:, None]

        self.part = pulls[0].part
        self.height = pulls[0].height
        self.faired = pulls[0].faired
        self.shrink = [column([p.shrink[i] for p in pulls]) for i in (0, 1)]
        self.twist = column([p.twist for p in pulls])
        self.oval = column([p.oval for p in pulls])
        self.oval_towards = column([p.oval_towards for p in pulls])
        self.step = np.array([p.step for p in pulls])[:, None, :]
        most = max(len(p.fills) for p in pulls)
        self.fills = []
        for i in range(most):
            rows = [p.fills[i] if i < len(p.fills) else (np.zeros(3), 0.0, 1.0) for p in pulls]
            centre = np.array([r[0] for r in rows])[:, None, :]
            self.fills.append((centre, column([r[1] for r in rows]), column([r[2] for r in rows])))

    def of(self, x, out):
        """Where points of the pattern, with their outward directions, are on each casting."""
        y = x
        for centre, height, width in self.fills:
            d2 = ((x - centre) ** 2).sum(-1)
            y = y + out * (height * np.exp(-d2 / (2 * width * width)))[..., None]
        left = 0.5 * (1 + np.tanh(x[..., 0] / self.faired))
        k = (self.shrink[0] * left + self.shrink[1] * (1 - left)) / 1000
        y = self._ovalled(y * (1 - k)[..., None])
        turn = self.twist * y[..., 2] / self.height
        c, s = np.cos(turn), np.sin(turn)
        y = np.stack(
            [c * y[..., 0] - s * y[..., 1], s * y[..., 0] + c * y[..., 1], y[..., 2]], -1
        )
        return y + self.step * (1 - left)[..., None]

    def _ovalled(self, y):
        r = np.sqrt(y[..., 0] ** 2 + y[..., 1] ** 2)
        th = np.arctan2(y[..., 1], y[..., 0])
        if self.part == "bollard":
            # A tube goes oval by bending, keeping its girth: tangential motion half the radial one.
            amount, slide = self.oval, 0.5
        else:
            amount, slide = self.oval * r / (172.0 if self.part == "cap" else HEAD_RADIUS), 1.0
        two = 2 * (th - self.oval_towards)
        radial, tangential = amount * np.cos(two), -slide * amount * np.sin(two)
        c, s = np.cos(th), np.sin(th)
        return y + np.stack(
            [radial * c - tangential * s, radial * s + tangential * c, np.zeros_like(r)], -1
        )


class Surface:
    """One face of several castings at once, or of the pattern (without pulls).

    Chart points come as (..., casting, point, 2).
    """

    def __init__(self, face, pulls=None):
        self.face = face
        self.pulls = None if pulls is None else Pulls(pulls)

    def at(self, ab):
        x, out = self.face.on_pattern(ab)
        return x if self.pulls is None else self.pulls.of(x, out)
