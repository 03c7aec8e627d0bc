#!/usr/bin/env python3
"""Makes the lettering of the sheets and copies the screen's fonts.

    python3 make.py                  fetches the two npm packages below with `npm pack`
    python3 make.py --from FOLDER    uses packages already unpacked: FOLDER/<name>-<version>/package

Needs fonttools and brotli (PyPI). Same packages, same fonttools, same bytes.

For the sheets, each weight becomes one TrueType file without hinting:
- Latin and Latin Extended-A merged, the rest left out;
- figures are the font's own tabular ones (`tnum`), so that a column of readings stands straight;
- kerning is kept as a flat `kern` table between the glyphs of plain Latin; tabular figures have none;
- the signs the font lacks are drawn here in the weight of its hyphen.
"""
import argparse
import math
import pathlib
import shutil
import subprocess
import tarfile
import tempfile

from fontTools import merge, subset
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0

SHEET = ("@fontsource/barlow-semi-condensed", "5.3.0")
SCREEN = ("@fontsource-variable/atkinson-hyperlegible-next", "5.3.0")
HERE = pathlib.Path(__file__).resolve().parent
PUBLIC = HERE.parents[2] / "public" / "fonts"

LATIN = [*range(0x20, 0x7F), *range(0xA0, 0x100)]
EXTENDED = [*range(0x100, 0x180), 0x218, 0x219, 0x21A, 0x21B, 0x1E9E]
SIGNS = [ord(c) for c in "–—‘’“”‚„′″×±−·•…½¼¾²³€"]


def package(name, version, given):
    """The folder of an unpacked npm package."""
    stem = name.lstrip("@").replace("/", "-")
    if given:
        return pathlib.Path(given) / f"{stem}-{version}" / "package"
    into = pathlib.Path(tempfile.mkdtemp())
    subprocess.run(["npm", "pack", f"{name}@{version}"], cwd=into, check=True)
    with tarfile.open(into / f"{stem}-{version}.tgz") as tar:
        tar.extractall(into, filter="data")
    return into / "package"


def tabular(font):
    """Points the cmap's figures at the glyphs that `tnum` would put in their place."""
    gsub = font["GSUB"].table
    swap = {}
    for record in gsub.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for sub in gsub.LookupList.Lookup[index].SubTable:
                    swap.update(getattr(sub, "ExtSubTable", sub).mapping)
    for table in font["cmap"].tables:
        for code in range(0x30, 0x3A):
            if code in table.cmap:
                table.cmap[code] = swap.get(table.cmap[code], table.cmap[code])


def kerning(font, codes):
    """Every kerned pair among `codes`, flattened out of GPOS: first match in lookup order wins."""
    cmap = font.getBestCmap()
    glyphs = {cmap[c] for c in codes if c in cmap}
    gpos = font["GPOS"].table
    lookups = []
    for record in gpos.FeatureList.FeatureRecord:
        if record.FeatureTag == "kern":
            for index in record.Feature.LookupListIndex:
                if index not in lookups:
                    lookups.append(index)
    pairs = {}
    for index in sorted(lookups):
        seen = set()
        for sub in gpos.LookupList.Lookup[index].SubTable:
            sub = getattr(sub, "ExtSubTable", sub)
            if sub.LookupType != 2:
                continue
            for place, left in enumerate(sub.Coverage.glyphs):
                if left not in glyphs:
                    continue
                if sub.Format == 1:
                    hits = {r.SecondGlyph: r.Value1 for r in sub.PairSet[place].PairValueRecord}
                else:
                    row = sub.Class1Record[sub.ClassDef1.classDefs.get(left, 0)].Class2Record
                    hits = {g: row[sub.ClassDef2.classDefs.get(g, 0)].Value1 for g in glyphs}
                for right, value in hits.items():
                    if right in glyphs and (left, right) not in seen:
                        seen.add((left, right))
                        advance = getattr(value, "XAdvance", 0) if value else 0
                        if advance:
                            pairs[left, right] = pairs.get((left, right), 0) + advance
    return pairs


class Signs:
    """The missing signs, in the weight of the font: stroke = height of its hyphen."""

    def __init__(self, font):
        self.font = font
        glyf = font["glyf"]
        hyphen = glyf[font.getBestCmap()[0x2D]]
        self.stroke = hyphen.yMax - hyphen.yMin
        self.cap = font["OS/2"].sCapHeight

    def put(self, code, name, width, polygons):
        pen = TTGlyphPen(None)
        for ring in polygons:
            if isinstance(ring, tuple) and ring[0] == "circle":
                self.circle(pen, *ring[1:])
                continue
            pen.moveTo(ring[0])
            for point in ring[1:]:
                pen.lineTo(point)
            pen.closePath()
        glyph = pen.glyph()
        self.font["glyf"][name] = glyph
        glyph.recalcBounds(self.font["glyf"])
        self.font["hmtx"][name] = (width, getattr(glyph, "xMin", 0))
        for table in self.font["cmap"].tables:
            table.cmap[code] = name

    @staticmethod
    def circle(pen, x, y, r, hole):
        """Sixteen quadratics: within r/6000 of round. Clockwise is ink, as TrueType has it."""
        n, k = 16, r / math.cos(math.pi / 16)
        at = lambda q, i: (round(x + q * math.cos(i * math.pi / n)), round(y + q * math.sin(i * math.pi / n)))
        step = 1 if hole else -1
        pen.moveTo(at(r, 0))
        for i in range(1, n + 1):
            pen.qCurveTo(at(k, step * (2 * i - 1)), at(r, step * 2 * i))
        pen.closePath()

    def draw(self):
        s, cap, mid = self.stroke, self.cap, self.cap // 2
        h, d, reach, long = s / 2, s * math.sqrt(0.5), 190, 640

        def arrow(tip_x, tip_y, dx, dy):
            """One polygon: an open right-angled head on a shaft, its tip at (tip_x, tip_y)."""
            half = [(0, 0), (-reach, reach), (-reach - d, reach - d), (-2 * d - h, h), (-long, h)]
            ring = half + [(x, -y) for x, y in half[:0:-1]]
            # Clockwise is ink: the half above the shaft comes last.
            return [(round(tip_x + x * dx - y * dy), round(tip_y + x * dy + y * dx)) for x, y in ring[::-1]]

        self.put(0x2192, "arrowright", 760, [arrow(700, mid, 1, 0)])
        self.put(0x2190, "arrowleft", 760, [arrow(60, mid, -1, 0)])
        self.put(0x2191, "arrowup", 560, [arrow(280, mid + long // 2, 0, 1)])
        self.put(0x2193, "arrowdown", 560, [arrow(280, mid - long // 2, 0, -1)])
        w, c, rise, thick = 420, 390, 190, 1.12 * s
        notch = w - (rise - thick) * w / (rise - h)
        half = [(0, c + h), (w, c + rise), (w, c + rise - thick), (notch, c), (w, c - rise + thick), (w, c - rise), (0, c - h)]
        bar = [(60, 50 + s), (60 + w, 50 + s), (60 + w, 50), (60, 50)]
        less = [(round(60 + x), round(y)) for x, y in half]
        more = [(round(60 + w - x), round(y)) for x, y in half[::-1]]
        self.put(0x2264, "lessequal", w + 120, [less, bar])
        self.put(0x2265, "greaterequal", w + 120, [more, bar])
        r = 300
        slash = [(70 - 20, 30), (690 - 20 - s, 730), (690 - 20, 730), (70 - 20 + s, 30)]
        self.put(0x2300, "diameter", 720, [("circle", 360, 380, r, False), ("circle", 360, 380, r - s, True), slash])
        self.put(0x25CF, "blackcircle", 720, [("circle", 360, mid, 300, False)])
        self.put(0x25A0, "blacksquare", 720, [[(90, mid - 270), (90, mid + 270), (630, mid + 270), (630, mid - 270)]])
        self.put(0x25B2, "blacktriangle", 720, [[(40, mid - 280), (360, mid + 275), (680, mid - 280)]])
        for code, name, width in ((0x2009, "thinspace", 130), (0x202F, "narrownobreakspace", 150)):
            self.put(code, name, width, [])
        cmap = self.font.getBestCmap()
        self.font.setGlyphOrder(self.font["glyf"].glyphOrder)
        for table in self.font["cmap"].tables:
            table.cmap[0x2011] = cmap[0x2D]


def cut(path, codes, figures):
    font = TTFont(path, recalcTimestamp=False)
    if figures:
        tabular(font)
    options = subset.Options(recalc_timestamp=False, hinting=False, layout_features=[], glyph_names=True, notdef_outline=True,
                             name_IDs=[0, 1, 2, 4, 6, 13, 14], drop_tables=["GSUB", "GDEF", "GPOS"])
    pairs = kerning(font, codes) if figures else {}
    tool = subset.Subsetter(options)
    tool.populate(unicodes=codes)
    tool.subset(font)
    return font, pairs


def sheet_font(folder, weight, out):
    files = folder / "files"
    latin, pairs = cut(files / f"barlow-semi-condensed-latin-{weight}-normal.woff2", LATIN + SIGNS, True)
    more, _ = cut(files / f"barlow-semi-condensed-latin-ext-{weight}-normal.woff2", EXTENDED, False)
    with tempfile.TemporaryDirectory() as work:
        parts = []
        for i, font in enumerate((latin, more)):
            font.flavor = None
            parts.append(f"{work}/{i}.ttf")
            font.save(parts[-1])
        font = merge.Merger().merge(parts)
    order = set(font.getGlyphOrder())
    Signs(font).draw()
    kern = newTable("kern")
    kern.version = 0
    flat = KernTable_format_0()
    flat.version, flat.coverage, flat.apple, flat.tupleIndex = 0, 1, False, None
    flat.kernTable = {p: v for p, v in sorted(pairs.items()) if p[0] in order and p[1] in order and abs(v) >= 5}
    kern.kernTables = [flat]
    font["kern"] = kern
    font["post"].formatType = 3.0
    font["head"].created = font["head"].modified = latin["head"].modified
    font.recalcTimestamp = False
    font.save(out)
    print(out.name, out.stat().st_size, "bytes,", len(font.getGlyphOrder()), "glyphs,", len(flat.kernTable), "pairs")


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--from", dest="given")
    given = ask.parse_args().given
    sheet, screen = package(*SHEET, given), package(*SCREEN, given)
    for weight, name in ((500, "medium"), (600, "semibold")):
        sheet_font(sheet, weight, HERE / f"barlow-semi-condensed-{name}.ttf")
    shutil.copyfile(sheet / "LICENSE", HERE / "barlow-semi-condensed-OFL.txt")
    PUBLIC.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(sheet / "LICENSE", PUBLIC / "barlow-semi-condensed-OFL.txt")
    shutil.copyfile(screen / "LICENSE", PUBLIC / "atkinson-hyperlegible-next-OFL.txt")
    for weight in (500, 600):
        name = f"barlow-semi-condensed-latin-{weight}-normal.woff2"
        shutil.copyfile(sheet / "files" / name, PUBLIC / name)
    for part in ("latin", "latin-ext"):
        name = f"atkinson-hyperlegible-next-{part}-wght-normal.woff2"
        shutil.copyfile(screen / "files" / name, PUBLIC / name)


if __name__ == "__main__":
    main()
