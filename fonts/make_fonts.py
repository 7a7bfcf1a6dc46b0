#!/usr/bin/env python3
"""Cut the bundled Halfcell Sans faces from the static Inter faces.

    python make_fonts.py Inter-Regular.woff2 Inter-SemiBold.woff2 OUT_DIR

Writes eight TrueType files: two weights, each in the slices latin, latin-extended, greek and cyrillic.
Needs exactly the versions named in TOOLS; the same sources then give the same bytes.
README.md beside this file tells where the sources come from and what is changed.
"""

import hashlib
import sys
from collections import Counter
from importlib.metadata import version
from pathlib import Path

from fontTools import subset
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables._c_m_a_p import CmapSubtable
from fontTools.ttLib.tables._g_l_y_f import Glyph

TOOLS = {"fonttools": "4.68.0", "brotli": "1.2.1"}
SOURCES = {
    "Regular": "e06f6b1bc553aaea4e4668023ed0ab0a147129c3107f511bc7d03d361b0ae085",
    "SemiBold": "5cb7103e4e605989afebc03d989c79201e54b21b5183db33981f70db9178a301",
}
FAMILY = "Halfcell Sans"
# Seconds since 1904-01-01: 2026-01-01 00:00 UTC, so that a rebuild gives the same bytes.
FONT_DATE = 3_850_070_400


def span(first, last):
    return range(first, last + 1)


def chars(text):
    return [ord(c) for c in text.replace(" ", "")]


# What nearly every document is set in, so that most embed nothing else.
LATIN = [
    *span(0x20, 0x7E),
    *(c for c in span(0xA0, 0xFF) if c != 0xAD),  # all of Latin-1 but the soft hyphen
    *chars("Œœ"),  # French
    0x2007, 0x2009, 0x202F,  # figure space, thin space, narrow no-break space
    *chars("‐‑–— ‘’‚ “”„ • … ′ ‹›"),
    *chars("⁺⁻ ₀₁₂₃₄"),  # charges and formulas
    *chars("Ω → − √ ∞ ≈ ≠ ≤ ≥ ▲ ▶ ✓✗"),
    *chars("μνσ ΔΩ"),  # degrees of freedom, standard deviation, differences
    0x2126,  # ohm sign
]
# Letters of names, and signs that a remark may hold.
LATIN_EXTENDED = [
    0x20, 0xA0,
    *(c for c in span(0x100, 0x17F) if c not in (0x149, 0x152, 0x153)),  # Extended-A but ʼn (deprecated), Œ, œ
    *chars("Əə Ơơ Ưư Ǎǎ Ǐǐ Ǒǒ Ǔǔ Ǥǥ Ǧǧ Ǩǩ Ǫǫ Ǯǯ Ǽǽ Ǿǿ Șș Țț Ȳȳ Ʒʒ ʼ"),  # names, Extended-B
    *chars("Ḃḃ Ḋḋ Ḟḟ Ṁṁ Ṗṗ Ṡṡ Ṫṫ Ẁẁ Ẃẃ Ẅẅ ẞ Ỳỳ"),  # Irish, Welsh, German
    *span(0x1EA0, 0x1EF9),  # Vietnamese
    *chars("― †‡ ‰ ″ ⁄ ⁰ⁱ⁴⁵⁶⁷⁸⁹⁼⁽⁾ⁿ ₅₆₇₈₉₊₋₌₍₎"),
    *chars("€ № ™ ← ↑ ↓ ↔ ∂ ∅ ∆ ∑ ∫ ■□ △ ▷ ▼▽ ◀◁ ◆◇ ○● ⚠"),
]
GREEK = [
    0x20, 0xA0, 0x37E, *span(0x384, 0x38A), 0x38C, *span(0x38E, 0x3A1), *span(0x3A3, 0x3CE),
]
CYRILLIC = [
    0x20, 0xA0, *span(0x400, 0x45F), *chars("Ґґ"),
]
SLICES = {"latin": LATIN, "latin-extended": LATIN_EXTENDED, "greek": GREEK, "cyrillic": CYRILLIC}

# Digits get their tabular forms. The signs that stand beside digits get the tabular forms
# centred on the height of the digits. Full stop, comma, colon and hyphen stay as in text.
DIGITS = dict(zip(chars("0123456789"), "zero one two three four five six seven eight nine".split()))
SIGNS = dict(zip(
    chars("+−±×÷=<>≤≥≠≈"),
    "plus minus plusminus multiply divide equal less greater lessequal greaterequal notequal"
    " approxequal".split(),
))

# A small l with a tail cannot be taken for a capital I: serial numbers are read off these pages.
TAILED = "l lacute lcaron ldot lslash uni013C".split()


def default_glyphs(font):
    """Code point to glyph name, tabular digits and signs and the tailed l put in."""
    cmap = {c: f"{name}.ss02" if name in TAILED else name for c, name in font.getBestCmap().items()}
    cmap |= {c: f"{name}.tf" for c, name in DIGITS.items()}
    cmap |= {c: f"{name}.case.tf" for c, name in SIGNS.items()}
    return cmap


def give_own_glyphs(font, cmap):
    """Two characters on one glyph could not be told apart when a PDF's text is extracted."""
    glyf, hmtx, taken = font["glyf"], font["hmtx"], set()
    for code, name in sorted(cmap.items()):
        if name in taken:
            twin = f"{name}.u{code:04X}"
            pen = TTGlyphPen(glyf)
            if glyf[name].numberOfContours:
                pen.addComponent(name, (1, 0, 0, 1, 0, 0))
            glyf[twin] = pen.glyph() if glyf[name].numberOfContours else Glyph()
            hmtx[twin] = hmtx[name]
            cmap[code] = twin
        taken.add(cmap[code])
    font.setGlyphOrder(glyf.glyphOrder)


def set_cmap(font, cmap):
    table = CmapSubtable.newSubtable(4)
    table.platformID, table.platEncID, table.language, table.cmap = 3, 1, 0, cmap
    font["cmap"] = newTable("cmap")
    font["cmap"].tableVersion, font["cmap"].tables = 0, [table]


def flatten_lone_parts(font):
    """Draw a composite outright when it alone uses one of its unencoded parts."""
    glyf, encoded = font["glyf"], set(font.getBestCmap().values())
    parts = {g: glyf[g].getComponentNames(glyf) for g in encoded if glyf[g].isComposite()}
    users = Counter(p for names in parts.values() for p in set(names))
    for name in sorted(parts):
        if any(users[p] == 1 and p not in encoded for p in parts[name]):
            recording, pen = DecomposingRecordingPen(font.getGlyphSet()), TTGlyphPen(None)
            font.getGlyphSet()[name].draw(recording)
            recording.replay(pen)
            glyf[name] = pen.glyph()


def cut(font, cmap):
    options = subset.Options(
        layout_features=[], hinting=False, glyph_names=False, notdef_outline=True,
        name_IDs=["*"], recalc_timestamp=False, recalc_average_width=True,
        drop_tables=["GSUB", "GPOS", "GDEF", "DSIG", "STAT", "gasp", "prep", "meta"],
    )
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=cmap)
    cutter.subset(font)


def set_names(font, style, slice_name):
    old, post_script = font["name"], f"HalfcellSans-{style}-{slice_name}"
    kept = {i: old.getName(i, 3, 1, 0x409).toUnicode() for i in (0, 7, 13, 14)}
    revision = f"{font['head'].fontRevision:.3f}"
    names = kept | {
        1: FAMILY if style == "Regular" else f"{FAMILY} {style}",
        2: "Regular",
        3: f"{revision};{post_script}",
        4: f"{FAMILY} {style} {slice_name}",
        5: f"Version {revision}",
        6: post_script,
        10: f"Modified from Inter {revision}: {slice_name} slice, tabular digits and tailed l by default.",
    }
    if style != "Regular":
        names |= {16: FAMILY, 17: style}
    font["name"] = newTable("name")
    font["name"].names = []
    for number, text in sorted(names.items()):
        font["name"].setName(text, number, 3, 1, 0x409)


def make(source, style, slice_name):
    font = TTFont(source, recalcTimestamp=False)
    font.flavor = None
    defaults = default_glyphs(font)
    missing = [f"U+{c:04X}" for c in SLICES[slice_name] if c not in defaults]
    if missing:
        sys.exit(f"{source}: no glyph for {', '.join(missing)}")
    cmap = {c: defaults[c] for c in SLICES[slice_name]}
    give_own_glyphs(font, cmap)
    set_cmap(font, cmap)
    flatten_lone_parts(font)
    cut(font, cmap)
    set_names(font, style, slice_name)
    font["head"].created = font["head"].modified = FONT_DATE
    font["OS/2"].achVendID = "    "
    return font


def main():
    wrong = [f"{tool}=={v}" for tool, v in TOOLS.items() if version(tool) != v]
    if wrong or len(sys.argv) != 4:
        sys.exit(f"{__doc__}\nnot installed: {wrong}" if wrong else __doc__)
    out = Path(sys.argv[3])
    out.mkdir(parents=True, exist_ok=True)
    for source, (style, digest) in zip(sys.argv[1:3], SOURCES.items()):
        if hashlib.sha256(Path(source).read_bytes()).hexdigest() != digest:
            sys.exit(f"{source}: not the {style} face this recipe was written for")
        for slice_name in SLICES:
            make(source, style, slice_name).save(out / f"HalfcellSans-{style}-{slice_name}.ttf")


if __name__ == "__main__":
    main()
