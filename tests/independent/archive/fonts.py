"""Fonts: dictionaries, programs, and every glyph that is shown (ISO 19005-3, 6.2.11; ISO 14289-1, 7.21)."""

import io
import re
import unicodedata

from fontTools.cffLib import CFFFontSet
from fontTools.misc.psCharStrings import T2WidthExtractor
from fontTools.pens.boundsPen import ControlBoundsPen
from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Name, Stream

from .lexer import Lexer, Operator

DESCRIPTOR = {"/Flags", "/FontBBox", "/ItalicAngle", "/Ascent", "/Descent", "/StemV", "/CapHeight", "/FontName", "/Type"}


def check(found, pdf, state):
    fonts, programs = {}, {}
    for thing in pdf.objects:
        if isinstance(thing, Dictionary) and thing.get("/Type") == Name.Font:
            kind = thing.get("/Subtype")
            held = kind in ("/Type0", "/CIDFontType2", "/CIDFontType0")
            found.need(held, "A 6.2.11.2-2, only-known", f"font {thing.get('/BaseFont')}: {kind}")
    for font, codes, mode, replaced, mark, where in state["shown"]:
        key = font.objgen
        if key not in fonts:
            fonts[key] = Font(found, font, programs)
        for code in codes:
            fonts[key].shown(code, mode, lambda: replaced or "replaced" in state and state["replaced"](mark), where)
    for page in pdf.pages:
        for name, font in page.obj.get("/Resources", {}).get("/Font", {}).items():
            held = isinstance(font, Dictionary) and font.get("/Type") == Name.Font
            found.need(held, "A 6.2.11.2-1", f"font {name}: Type is not Font")
            if font.objgen not in fonts:
                fonts[font.objgen] = Font(found, font, programs)


class Font:
    """A Type 0 font with Identity-H and an embedded program."""

    def __init__(self, found, font, programs):
        self.found, self.told = found, set()
        self.name = str(font.get("/BaseFont", ""))[1:]
        self.usable = False
        if not self.need(font.get("/Subtype") == Name.Type0, "only-known", f"is {font.get('/Subtype')}"):
            return
        self.need(self.name, "A 6.2.11.2-3", "no BaseFont")
        encoding = font.get("/Encoding")
        known = encoding == Name("/Identity-H")
        self.need(known, "A 6.2.11.3.3-1, UA 7.21.3.3-1, only-known", f"Encoding {encoding}")
        self.unicode = to_unicode(self, font.get("/ToUnicode"))
        below = font.get("/DescendantFonts")
        if not self.need(isinstance(below, Array) and len(below) == 1, "A 6.2.11.2-1", "DescendantFonts is not one font"):
            return
        self.descendant(below[0], programs)
        self.usable = known and self.program is not None

    def need(self, held, rules, what):
        return self.found.need(held, rules, f"font {self.name}: {what}")

    def descendant(self, cid, programs):
        self.program, kind = None, cid.get("/Subtype")
        self.need(cid.get("/Type") == Name.Font, "A 6.2.11.2-1", "CIDFont: Type is not Font")
        system = cid.get("/CIDSystemInfo", Dictionary())
        held = {"/Registry", "/Ordering", "/Supplement"} <= set(system.keys())
        self.need(held, "A 6.2.11.3.1-1, UA 7.21.3.1-1", "CIDSystemInfo is not complete")
        if kind == Name.CIDFontType2:
            mapping = cid.get("/CIDToGIDMap")
            held = mapping == Name.Identity or isinstance(mapping, Stream)
            self.need(held, "A 6.2.11.3.2-1, UA 7.21.3.2-1", f"CIDToGIDMap {mapping}")
            self.gids = None if mapping == Name.Identity or not held else mapping.read_bytes()
        expected = self.name if kind == Name.CIDFontType2 else self.name.removesuffix("-Identity-H")
        said = str(cid.get("/BaseFont", ""))[1:]
        self.need(said == expected, "A 6.2.11.2-3", f"BaseFont of its CIDFont is {said}")
        sheet = cid.get("/FontDescriptor", Dictionary())
        missing = DESCRIPTOR - set(sheet.keys())
        self.need(not missing, "A 6.2.11.2-1", f"FontDescriptor without {sorted(missing)}")
        named = str(sheet.get("/FontName", ""))[1:]
        self.need(named == said, "A 6.2.11.2-3", f"FontName is {named}")
        tag = re.match(r"([^+]*)\+", self.name)
        self.need(not tag or re.fullmatch("[A-Z]{6}", tag.group(1)), "font-programs", "subset tag is not six capitals")
        self.widths, self.default = widths(self, cid), float(cid.get("/DW", 1000))
        file = self.file(kind, sheet)
        if file is None:
            return
        try:
            self.program = Program(self, kind, file)
        except Exception as error:  # fontTools raises what it likes on a broken program
            self.need(False, "font-programs", f"its program cannot be read: {type(error).__name__}: {error}")
            return
        other = programs.setdefault(self.name, file.objgen)
        self.need(other == file.objgen, "font-programs", "two programs of the same name: subset tags must differ")
        if "/CIDSet" in sheet:
            self.cid_set(sheet.CIDSet.read_bytes())

    def file(self, kind, sheet):
        files = [key for key in ("/FontFile", "/FontFile2", "/FontFile3") if key in sheet]
        if not self.need(len(files) == 1, "A 6.2.11.4.1-1, UA 7.21.4.1-1", f"embedded programs: {files}"):
            return None
        file = sheet[files[0]]
        subtype = file.get("/Subtype")
        wanted = {
            "/CIDFontType2": (("/FontFile2", None), ("/FontFile3", "/OpenType")),
            "/CIDFontType0": (("/FontFile3", "/CIDFontType0C"), ("/FontFile3", "/OpenType")),
        }.get(str(kind), ())
        held = (files[0], None if subtype is None else str(subtype)) in wanted
        self.need(held, "A 6.2.11.2-7", f"{files[0]} of subtype {subtype} for {kind}")
        if files[0] == "/FontFile2":
            size = len(file.read_bytes())
            self.need(file.get("/Length1") == size, "font-programs", f"Length1 {file.get('/Length1')} of {size}")
        return file if held else None

    def cid_set(self, bits):
        listed = {8 * at + bit for at, byte in enumerate(bits) for bit in range(8) if byte & 128 >> bit}
        there = set(range(self.program.count))
        self.need(listed == there, "A 6.2.11.4.2-2, UA 7.21.4.2-2", f"CIDSet lists {len(listed)} of {len(there)} glyphs")

    def shown(self, code, mode, replaced, where):
        """Judges a code: once for each way of painting; in private use every time, for its replacement."""
        private = any(unicodedata.category(mark) == "Co" for mark in self.unicode.get(code, ""))
        if not self.usable or (code, mode) in self.told and not private:
            return
        self.told.add((code, mode))
        glyph = self.program.glyph(code) if self.gids_of(code) is None else self.gids_of(code)
        said = self.unicode.get(code)
        what = f"{where}: code {code:04X} «{said or ''}»"
        self.need(glyph != 0, "A 6.2.11.8-1, UA 7.21.8-1", f"{what} shows .notdef")
        there = glyph is not None and glyph < self.program.count
        if self.need(there, "A 6.2.11.4.1-2, UA 7.21.4.1-2", f"{what} is not in the program"):
            width, own = self.widths.get(code, self.default), self.program.width(glyph)
            held = abs(width - own) <= 1
            self.need(held, "A 6.2.11.5-1, UA 7.21.5-1", f"{what}: width {width:g}, in the program {own:g}")
            # In scripts that join letters an empty glyph may bear the text of one that a ligature has swallowed.
            blank = said is None or all(
                unicodedata.category(mark) in ("Zs", "Cf", "Cc", "Mn") or "\u0590" <= mark < "\u2000" for mark in said)
            self.need(blank or self.program.inked(glyph), "glyphs", f"{what}: its glyph is empty")
        if not self.need(said, "A 6.2.11.7.2-1, UA 7.21.7-1", f"{what} has no ToUnicode"):
            return
        bad = [mark for mark in said if mark in "\0\ufeff\ufffe" or "\ud800" <= mark <= "\udfff"]
        self.need(not bad, "A 6.2.11.7.2-2, UA 7.21.7-2", f"{what}: Unicode {bad}")
        self.need(not private or replaced(), "A 6.2.11.7.3-1", f"{what}: private use without ActualText")
        self.need("\ufffd" not in said, "glyphs", f"{what}: the replacement character")

    def gids_of(self, code):
        gids = getattr(self, "gids", None)
        return None if gids is None else int.from_bytes(gids[2 * code : 2 * code + 2], "big")


class Program:
    """Glyphs and widths of an embedded font program, in thousandths of an em."""

    def __init__(self, font, kind, file):
        data = file.read_bytes()
        self.cids = None
        if file.get("/Subtype") == Name.CIDFontType0C:
            fonts = CFFFontSet()
            fonts.decompile(io.BytesIO(data), None)
            self.set_up_cff(font, fonts[0])
            return
        sheet = TTFont(io.BytesIO(data), lazy=False, checkChecksums=2)
        missing = {"head", "hhea", "hmtx", "maxp"} - set(sheet.keys())
        font.need(not missing, "font-programs", f"program without {sorted(missing)}")
        if "OS/2" in sheet:
            rights = sheet["OS/2"].fsType
            font.need(rights & 0x020E != 2 and not rights & 0x0200, "font-programs", f"its licence bits forbid embedding: {rights}")
        if "CFF " in sheet:
            font.need(kind == Name.CIDFontType0, "A 6.2.11.2-7", "CFF outlines in a CIDFontType2")
            self.set_up_cff(font, sheet["CFF "].cff[0])
            return
        font.need({"glyf", "loca"} <= set(sheet.keys()), "font-programs", "program without glyf and loca")
        self.order = sheet.getGlyphOrder()
        self.count = sheet["maxp"].numGlyphs
        self.glyphs = sheet.getGlyphSet()
        self.metrics, self.scale = sheet["hmtx"], 1000 / sheet["head"].unitsPerEm
        for name in self.order:
            sheet["glyf"][name].expand(sheet["glyf"])

    def set_up_cff(self, font, top):
        self.metrics, self.order, self.count = None, top.charset, len(top.CharStrings)
        self.select = None
        self.scale = 1000 * top.rawDict.get("FontMatrix", [0.001])[0]
        self.glyphs = {name: top.CharStrings[name] for name in self.order}
        if hasattr(top, "ROS"):
            operators = list(top.rawDict)
            misread = "FontMatrix" in operators and operators.index("FontMatrix") == operators.index("ROS") + 1
            font.need(not misread, "font-programs", "FontMatrix right behind ROS, which some programs misread")
            own = [part.rawDict.get("FontMatrix") for part in top.FDArray]
            whole = 1000 if "FontMatrix" not in top.rawDict else self.scale
            self.scales = [self.scale if matrix is None else whole * matrix[0] for matrix in own]
            self.select = [top.FDSelect[at] for at in range(self.count)]
            self.cids = {int(name[3:]) if name.startswith("cid") else 0: at for at, name in enumerate(self.order)}

    def glyph(self, code):
        return code if self.cids is None else self.cids.get(code)

    def width(self, glyph):
        name = self.order[glyph]
        if self.metrics is not None:
            return self.metrics[name][0] * self.scale
        string = self.glyphs[name]
        string.decompile()
        reader = T2WidthExtractor(getattr(string.private, "Subrs", []), string.globalSubrs,
                                  string.private.nominalWidthX, string.private.defaultWidthX)
        reader.execute(string)
        return reader.width * (self.scale if self.select is None else self.scales[self.select[glyph]])

    def inked(self, glyph):
        pen = ControlBoundsPen(self.glyphs if self.metrics is not None else None)
        self.glyphs[self.order[glyph]].draw(pen)
        return pen.bounds is not None


def widths(font, cid):
    """Widths of W (9.7.4.3) by CID."""
    out, entries = {}, list(cid.get("/W", []))
    while entries:
        first, second = int(entries.pop(0)), entries.pop(0)
        if isinstance(second, Array):
            out.update({first + at: float(width) for at, width in enumerate(second)})
        else:
            width = float(entries.pop(0))
            out.update({code: width for code in range(first, int(second) + 1)})
    font.need(out, "A 6.2.11.5-1, UA 7.21.5-1", "no W")
    font.need(max(out, default=0) <= 65535, "A 6.1.13-10", f"CID {max(out, default=0)}")
    return out


def to_unicode(font, stream):
    """Text of each code, from the ToUnicode CMap (9.10.3)."""
    out = {}
    if not font.need(isinstance(stream, Stream), "A 6.2.11.7.2-1, UA 7.21.7-1", "no ToUnicode"):
        return out
    lexer = Lexer(font.found, stream.read_bytes(), 0, f"ToUnicode of {font.name}")
    stack, words = [], []
    while (token := lexer.token()) is not None:
        value = lexer.value(token)
        if not isinstance(value, Operator):
            stack.append(value)
            continue
        words.append(str(value))
        if value == "endbfchar":
            held = len(stack) % 2 == 0 and len(stack) <= 200
            font.need(held, "cmap", f"{len(stack)} strings in a bfchar")
            out.update({number(code): utf16(font, said) for code, said in zip(stack[::2], stack[1::2])})
        elif value == "endbfrange":
            font.need(len(stack) % 3 == 0 and len(stack) <= 300, "cmap", f"{len(stack)} values in a bfrange")
            for low, high, said in zip(stack[::3], stack[1::3], stack[2::3]):
                out.update(bf_range(font, number(low), number(high), said))
        elif value == "endcodespacerange":
            font.need(stack == [b"\0\0", b"\xff\xff"], "cmap", f"code space {stack}")
        elif value == "usecmap":
            font.need(False, "A 6.2.11.3.3-3, UA 7.21.3.3-3", f"ToUnicode refers to {stack[-1:]}")
        stack = []
    wanted = {"begincmap", "endcmap", "begincodespacerange", "endcodespacerange"}
    font.need(wanted <= set(words), "cmap", f"ToUnicode without {sorted(wanted - set(words))}")
    return out


def number(raw):
    return int.from_bytes(raw, "big")


def utf16(font, raw):
    try:
        return raw.decode("utf-16-be")
    except UnicodeDecodeError:
        font.need(False, "A 6.2.11.7.2-2, UA 7.21.7-2", f"ToUnicode: {raw.hex()} is not UTF-16")
        return ""


def bf_range(font, low, high, said):
    font.need(low <= high and low >> 8 == high >> 8, "cmap", f"range {low:04X} to {high:04X} crosses its first byte")
    if isinstance(said, list):
        return {low + at: utf16(font, part) for at, part in enumerate(said)}
    held = said[-1] + high - low <= 255
    font.need(held, "cmap", f"range {low:04X} to {high:04X}: its last byte overflows")
    return {low + at: utf16(font, said[:-1] + bytes([said[-1] + at & 255])) for at in range(high - low + 1)}
