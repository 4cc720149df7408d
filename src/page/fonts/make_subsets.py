#!/usr/bin/env python3
"""Make the subset fonts that the report embeds.

    pip install fonttools
    apt-get install fonts-noto-core        # Noto Sans 2.004, Noto Sans Math
    python3 make_subsets.py /usr/share/fonts/truetype/noto .

Noto Sans has no minus, comparison signs, root, sum or arrows. The minus is cut from the bar of each font's own plus, so
that it lines up with figures; the others come from Noto Sans Math. Both are under the SIL Open Font License 1.1 with no
reserved name (see OFL.txt). The output is the same for the same input: no time stamps are written.
"""
import sys
from pathlib import Path

from fontTools import subset
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

WANTED = (
    list(range(0x20, 0x7F))          # Latin
    + list(range(0xA0, 0x100))       # Latin-1
    + list(range(0x100, 0x180))      # Latin Extended-A
    + [0x218, 0x219, 0x21A, 0x21B]   # Romanian comma below
    + [0x386, 0x388, 0x389, 0x38A, 0x38C] + list(range(0x38E, 0x3A2)) + list(range(0x3A3, 0x3CF))  # Greek
    + list(range(0x400, 0x460)) + [0x490, 0x491]                                                   # Cyrillic
    + [0x2009, 0x200A, 0x2010, 0x2011, 0x2012, 0x2013, 0x2014, 0x2018, 0x2019, 0x201A, 0x201C, 0x201D, 0x201E,
       0x2020, 0x2021, 0x2022, 0x2026, 0x202F, 0x2030, 0x2032, 0x2033, 0x2039, 0x203A, 0x2044,
       0x2070, 0x2074, 0x2075, 0x2076, 0x2077, 0x2078, 0x2079, 0x207B, 0x2080, 0x2081, 0x2082, 0x2083, 0x2084, 0x20AC, 0x2122,
       0xFFFD]
)
FROM_MATH = [0x2190, 0x2191, 0x2192, 0x2193, 0x2206, 0x2211, 0x221A, 0x221E, 0x2248, 0x2260, 0x2264, 0x2265]
FACES = {"regular": "NotoSans-Regular.ttf", "bold": "NotoSans-Bold.ttf", "italic": "NotoSans-Italic.ttf"}


def add_glyph(font, code, name, glyph, advance):
    font.setGlyphOrder(font.getGlyphOrder() + [name])
    font["glyf"].glyphs[name] = glyph
    font["glyf"].glyphOrder = font.getGlyphOrder()
    glyph.recalcBounds(font["glyf"])
    font["hmtx"].metrics[name] = (advance, glyph.xMin)
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap[code] = name


def minus_from_plus(font):
    plus = font["glyf"][font.getBestCmap()[ord("+")]]
    points = list(plus.getCoordinates(font["glyf"])[0])
    left = min(x for x, _ in points)
    right = max(x for x, _ in points)
    ys = sorted(y for x, y in points if x in (left, right))
    advance = font["hmtx"].metrics[font.getBestCmap()[ord("0")]][0]  # as wide as a figure, so that columns line up
    margin = (advance - (right - left)) // 2
    pen = TTGlyphPen(None)
    pen.moveTo((margin, ys[0]))
    pen.lineTo((margin, ys[-1]))
    pen.lineTo((advance - margin, ys[-1]))
    pen.lineTo((advance - margin, ys[0]))
    pen.closePath()
    return pen.glyph(), advance


def main(source, target):
    for short, name in FACES.items():
        font = TTFont(source / name, recalcTimestamp=False)
        for table in ("GSUB", "GPOS", "GDEF", "fpgm", "prep", "cvt ", "gasp"):
            if table in font:
                del font[table]
        glyph, advance = minus_from_plus(font)
        add_glyph(font, 0x2212, "minus.cut", glyph, advance)
        math = TTFont(source / "NotoSansMath-Regular.ttf")
        assert math["head"].unitsPerEm == font["head"].unitsPerEm
        for code in FROM_MATH:
            if code in font.getBestCmap():
                continue
            there = math.getBestCmap()[code]
            pen = TTGlyphPen(None)
            math.getGlyphSet()[there].draw(pen)
            add_glyph(font, code, f"math{code:04X}", pen.glyph(), math["hmtx"].metrics[there][0])
        options = subset.Options()
        options.hinting = False
        options.layout_features = []
        options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
        options.notdef_outline = True
        options.glyph_names = False
        options.recalc_timestamp = False
        cut = subset.Subsetter(options)
        cut.populate(unicodes=WANTED + FROM_MATH + [0x2212])
        cut.subset(font)
        missing = [hex(code) for code in WANTED if code not in font.getBestCmap()]
        font.save(target / f"noto-sans-{short}.ttf")
        print(short, (target / f"noto-sans-{short}.ttf").stat().st_size, "bytes; not in the font:", missing)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
