"""For the invented example *Quay puffins*: what a tape says of a true distance, rounded as read."""

import math

from design import BENT_HOOK_MM, CLASSES, INSTRUMENTS


class Tape:
    """One real tape: where in its class it lies, fixed for as long as it is the same tape."""

    def __init__(self, instrument, rng):
        self.about = INSTRUMENTS[instrument]
        self.a, self.b, self.c = CLASSES[self.about["cls"]]
        self.lies = rng.uniform(-1, 1)
        self.phase = rng.uniform(0, 2 * math.pi)
        self.hook = rng.uniform(-self.c, self.c)

    def off_by(self, mm):
        """Its own error at a length: most of it shared by all lengths, a fifth wandering along the blade."""
        allowed = self.a + self.b * math.ceil(mm / 1000)
        return allowed * (0.8 * self.lies + 0.2 * math.sin(2 * math.pi * mm / 170 + self.phase))

    def reads(self, mm, hooked, rng, bent=False):
        """The exact place of the mark on the blade, before anybody rounds it."""
        said = mm + self.off_by(mm)
        if hooked:
            said += self.hook + (BENT_HOOK_MM if bent else 0.0)
        return said + rng.normal(0, self.about["scatter"]) + rng.normal(0, self.about["pointing"])

    def rounded(self, said):
        step = self.about["step"]
        return math.floor(said / step + 0.5) * step


def sixteenths(mm):
    """To the nearest sixteenth of an inch, as typed and in mm."""
    n = math.floor(mm / 25.4 * 16 + 0.5)
    whole, part = divmod(n, 16)
    over = math.gcd(part, 16) if part else 1
    text = f'{whole} {part // over}/{16 // over}"' if part else f'{whole}"'
    return text, n / 16 * 25.4
