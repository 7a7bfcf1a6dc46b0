"""A small document that keeps every rule, made with pikepdf and fontTools; what `archive_mutations.py` breaks."""

import hashlib
import io
import zlib

import pikepdf
from fontTools.cffLib import FDArrayIndex, FDSelect, FontDict
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from pikepdf import Array, Dictionary, Name, Stream, String

LETTERS = " abcdefghijklmnopqrstuvwxyzH12345°µ\ue000"
XMP = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"
 xmlns:pdfaType="http://www.aiim.org/pdfa/ns/type#" xmlns:pdfaField="http://www.aiim.org/pdfa/ns/field#">
<pdfaid:part>3</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance><pdfuaid:part>1</pdfuaid:part>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">a title</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>an author</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">a subject</rdf:li></rdf:Alt></dc:description>
<pdf:Producer>a producer</pdf:Producer><pdf:Keywords>some, words</pdf:Keywords><xmp:CreatorTool>a tool</xmp:CreatorTool>
<xmp:CreateDate>2026-05-04T09:30:00+02:00</xmp:CreateDate><xmp:ModifyDate>2026-05-04T09:30:00+02:00</xmp:ModifyDate>
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>identification of universal access</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI><pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType><pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>part of ISO 14289</pdfaProperty:description></rdf:li></rdf:Seq></pdfaSchema:property>
<pdfaSchema:valueType><rdf:Seq><rdf:li rdf:parseType="Resource"><pdfaType:type>Pair</pdfaType:type>
<pdfaType:namespaceURI>http://example.com/pair/</pdfaType:namespaceURI><pdfaType:prefix>pair</pdfaType:prefix>
<pdfaType:description>two</pdfaType:description><pdfaType:field><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaField:name>one</pdfaField:name><pdfaField:valueType>Text</pdfaField:valueType>
<pdfaField:description>the first</pdfaField:description></rdf:li></rdf:Seq></pdfaType:field></rdf:li></rdf:Seq>
</pdfaSchema:valueType></rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>"""


def glyph_names():
    return [".notdef", *(f"g{ord(letter):04X}" for letter in LETTERS)]


def draw(pen, at):
    """A box of its own height; the space stays empty."""
    if at != 1:
        for point, where in enumerate([(50, 0), (50, 300 + 10 * at), (450, 300 + 10 * at), (450, 0)]):
            (pen.lineTo if point else pen.moveTo)(where)
        pen.closePath()
    return pen


def font_program(outlines):
    names = glyph_names()
    builder = FontBuilder(1000, isTTF=outlines == "glyf")
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord(letter): name for letter, name in zip(LETTERS, names[1:])})
    widths = {name: 500 + 3 * at for at, name in enumerate(names)}
    if outlines == "glyf":
        builder.setupGlyf({name: draw(TTGlyphPen(None), at).glyph() for at, name in enumerate(names)})
    else:
        strings = {name: draw(T2CharStringPen(widths[name], None), at).getCharString() for at, name in enumerate(names)}
        builder.setupCFF("Sample-Boxes", {}, strings, {})
    builder.setupHorizontalMetrics({name: (width, 50) for name, width in widths.items()})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupOS2()
    builder.setupPost(keepGlyphNames=False)
    builder.setupNameTable({"familyName": "Sample Boxes", "styleName": "Regular", "psName": "Sample-Boxes"})
    out = io.BytesIO()
    builder.font.save(out)
    if outlines == "glyf":
        return out.getvalue()
    fonts, cff = builder.font["CFF "].cff, io.BytesIO()
    cid_keyed(fonts[0], names)
    fonts.compile(cff, builder.font, isCFF2=False)
    return cff.getvalue()


def cid_keyed(top, names):
    """Turns a CFF program with glyph names into one with CIDs."""
    sheet = FontDict()
    top.Private.StdHW, sheet.Private, sheet.FontName = 50, top.Private, "Sample-Boxes"
    select = FDSelect()
    select.format, select.gidArray = 0, [0] * len(names)
    top.FDSelect, top.FDArray = select, FDArrayIndex()
    top.FDArray.append(sheet)
    top.ROS, top.CIDCount = ("Adobe", "Identity", 0), len(names)
    strings = top.CharStrings.charStrings
    top.CharStrings.charStrings = {f"cid{at:05d}" if at else name: strings[name] for at, name in enumerate(names)}
    top.CharStrings.fdArray, top.CharStrings.fdSelect = top.FDArray, select
    top.charset = list(top.CharStrings.charStrings)
    top.rawDict.pop("Private", None)
    del top.Private


def icc_profile():
    """A profile of version 2 with primaries and curves of sRGB to four digits."""
    def fixed(*values):
        return b"".join(round(value * 65536).to_bytes(4, "big", signed=True) for value in values)

    def xyz(*values):
        return b"XYZ \0\0\0\0" + fixed(*values)

    curve = b"curv\0\0\0\0\0\0\0\1\x02\x33\0\0"
    said = b"sample\0"
    tags = [
        (b"desc", b"desc\0\0\0\0" + len(said).to_bytes(4, "big") + said + b"\0" * 78 + b"\0" * 3), (b"cprt", b"text\0\0\0\0none\0\0\0\0"),
        (b"wtpt", xyz(0.9642, 1.0, 0.8249)), (b"rXYZ", xyz(0.4361, 0.2225, 0.0139)), (b"gXYZ", xyz(0.3851, 0.7169, 0.0971)),
        (b"bXYZ", xyz(0.1431, 0.0606, 0.7141)), (b"rTRC", curve), (b"gTRC", curve), (b"bTRC", curve),
    ]
    table, body = len(tags).to_bytes(4, "big"), b""
    for tag, data in tags:
        place = 132 + 12 * len(tags) + len(body)
        table += tag + place.to_bytes(4, "big") + len(data).to_bytes(4, "big")
        body += data + b"\0" * (-len(data) % 4)
    size = 128 + len(table) + len(body)
    header = size.to_bytes(4, "big") + b"\0\0\0\0\x02\x10\0\0mntrRGB XYZ " + b"\x07\xea\0\5\0\4\0\x09\0\0\0\0acsp" + b"\0" * 28
    return (header + fixed(0.9642, 1.0, 0.8249)).ljust(128, b"\0") + table + body


class Sample:
    """The document under construction: content, marks and structure of the page at hand."""

    def __init__(self):
        self.pdf = pikepdf.new()
        self.root = self.pdf.make_indirect(Dictionary(Type=Name.StructTreeRoot, K=Array(), RoleMap=Dictionary(Figures=Name.Figure)))
        self.rows, self.content, self.page = [], [], None

    def element(self, parent, kind, **more):
        element = self.pdf.make_indirect(Dictionary(Type=Name.StructElem, S=Name(f"/{kind}"), P=parent, K=Array(), **more))
        parent.K.append(element)
        return element

    def mark(self, element, kind, operators):
        number = len(self.rows[-1])
        self.rows[-1].append(element)
        element.Pg = self.page
        element.K.append(number)
        self.content.append(f"/{kind} <</MCID {number}>> BDC\n{operators}\nEMC")

    def say(self, parent, kind, words, font="F1", **more):
        element = self.element(parent, kind, **more)
        self.mark(element, kind, f"BT\n/{font} 10 Tf\n1 0 0 1 50 700 Tm\n<{codes(words)}> Tj\nET")
        return element


def codes(words):
    return "".join(f"{LETTERS.index(letter) + 1:04X}" for letter in words)


def font(pdf, name, outlines):
    count = len(LETTERS) + 1
    program = Stream(pdf, font_program(outlines))
    sheet = Dictionary(
        Type=Name.FontDescriptor, FontName=Name(f"/{name}"), Flags=4, FontBBox=Array([0, -200, 600, 800]), ItalicAngle=0,
        Ascent=800, Descent=-200, CapHeight=700, StemV=80,
    )
    if outlines == "glyf":
        program.Length1 = len(program.read_bytes())
        sheet.FontFile2 = pdf.make_indirect(program)
    else:
        program.Subtype = Name.CIDFontType0C
        sheet.FontFile3 = pdf.make_indirect(program)
    cid = Dictionary(
        Type=Name.Font, Subtype=Name.CIDFontType2 if outlines == "glyf" else Name.CIDFontType0, BaseFont=Name(f"/{name}"),
        CIDSystemInfo=Dictionary(Registry=String("Adobe"), Ordering=String("Identity"), Supplement=0),
        FontDescriptor=pdf.make_indirect(sheet), DW=500, W=Array([0, Array([500 + 3 * at for at in range(count)])]),
    )
    if outlines == "glyf":
        cid.CIDToGIDMap = Name.Identity
    pairs = "\n".join(f"<{at + 1:04X}> <{ord(letter):04X}>" for at, letter in enumerate(LETTERS))
    cmap = (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CMapName /Sample def\n/CMapType 2 def\n"
        f"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n{len(LETTERS)} beginbfchar\n{pairs}\nendbfchar\n"
        "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    )
    return pdf.make_indirect(Dictionary(
        Type=Name.Font, Subtype=Name.Type0, BaseFont=Name(f"/{name}" + ("" if outlines == "glyf" else "-Identity-H")),
        Encoding=Name("/Identity-H"), DescendantFonts=Array([pdf.make_indirect(cid)]),
        ToUnicode=pdf.make_indirect(Stream(pdf, cmap.encode())),
    ))


def resources(pdf):
    mask = pdf.make_indirect(Stream(pdf, b"\x80" * 4, Type=Name.XObject, Subtype=Name.Image, Width=2, Height=2,
                                    ColorSpace=Name.DeviceGray, BitsPerComponent=8))
    image = pdf.make_indirect(Stream(pdf, b"\x10\x80\xf0" * 4, Type=Name.XObject, Subtype=Name.Image, Width=2, Height=2,
                                     ColorSpace=Name.DeviceRGB, BitsPerComponent=8, SMask=mask))
    form = pdf.make_indirect(Stream(pdf, b"q 0.1 0.2 0.3 rg 0 0 5 5 re f Q", Type=Name.XObject, Subtype=Name.Form,
                                    BBox=Array([0, 0, 5, 5]), Resources=Dictionary()))
    profile = pdf.make_indirect(Stream(pdf, icc_profile(), N=3))
    return Dictionary(
        Font=Dictionary(F1=font(pdf, "ABCDEF+Sample-Boxes", "glyf"), F2=font(pdf, "ABCDEG+Sample-Lines", "CFF ")),
        XObject=Dictionary(Im=image, Fm=form), ExtGState=Dictionary(Half=Dictionary(Type=Name.ExtGState, ca=0.5, BM=Name.Multiply)),
        ColorSpace=Dictionary(Own=Array([Name.ICCBased, profile])),
    )


def build():
    """The document as pikepdf holds it."""
    made = Sample()
    pdf, shared = made.pdf, None
    document = made.element(made.root, "Document")
    shared = resources(pdf)
    for number in range(2):
        pdf.add_blank_page(page_size=(595, 842))
        made.page = pdf.pages[number].obj
        made.rows.append([])
        made.content = []
        (first_page if number == 0 else second_page)(made, document)
        artifact = "/Artifact <</Type /Pagination>> BDC\nq 1 0 0 1 20 20 cm /Fm Do Q\n0.5 g 50 30 100 1 re f\nEMC"
        made.content.append(artifact)
        made.page.Contents = pdf.make_indirect(Stream(pdf, zlib.compress("\n".join(made.content).encode()), Filter=Name.FlateDecode))
        made.page.update(Dictionary(Resources=shared, Tabs=Name.S, StructParents=number,
                                    Group=Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)))
    catalog(made, pdf)
    return pdf


def first_page(made, document):
    made.say(document, "H1", "a heading")
    paragraph = made.say(document, "P", "some text")
    made.say(paragraph, "Span", "µ °", font="F2", Lang=String("de-DE"))
    made.say(paragraph, "Note", "a note", ID=String("n1"))
    made.say(document, "H2", "a table")
    table = made.element(document, "Table")
    made.say(table, "Caption", "a caption")
    head, body = made.element(table, "THead"), made.element(table, "TBody")
    row = made.element(head, "TR")
    made.say(row, "TH", "one", A=Dictionary(O=Name.Table, Scope=Name.Column))
    made.say(row, "TH", "two", A=Array([Dictionary(O=Name.Table, Scope=Name.Column, ColSpan=2)]))
    row = made.element(body, "TR")
    made.say(row, "TH", "three", A=Dictionary(O=Name.Table, Scope=Name.Row, RowSpan=2), ID=String("h3"))
    made.say(row, "TD", "four", A=Dictionary(O=Name.Table, Headers=Array([String("h3")])))
    made.say(row, "TD", "five")
    row = made.element(body, "TR")
    made.say(row, "TD", "12")
    made.element(row, "TD")


def second_page(made, document):
    made.say(document, "H3", "a list")
    items = made.element(document, "L", A=Dictionary(O=Name.List, ListNumbering=Name.Decimal))
    for number in "12":
        item = made.element(items, "LI")
        made.say(item, "Lbl", number)
        made.say(item, "LBody", "an item")
    figure = made.element(document, "Figures", Alt=String("two boxes"), A=Dictionary(O=Name.Layout, BBox=Array([50, 300, 150, 400])))
    made.mark(figure, "Figure", "q 50 0 0 50 50 300 cm /Im Do Q\nq /Half gs /Own cs 0.2 0.4 0.6 sc 60 310 20 20 re W n 60 310 9 9 re f Q")
    formula = made.say(document, "Formula", "h2", Alt=String("h squared"))
    formula.Lang = String("en")
    link = made.say(document, "Link", "example")
    note = made.pdf.make_indirect(Dictionary(
        Type=Name.Annot, Subtype=Name.Link, Rect=Array([50, 200, 90, 210]), F=4, Contents=String("example.com"), StructParent=2,
        A=Dictionary(S=Name.URI, URI=String("https://example.com")), Border=Array([0, 0, 0]),
    ))
    made.page.Annots = Array([note])
    link.K.append(Dictionary(Type=Name.OBJR, Obj=note, Pg=made.page))
    made.link = link


def catalog(made, pdf):
    made.root.ParentTree = pdf.make_indirect(Dictionary(
        Nums=Array([0, Array(made.rows[0]), 1, Array(made.rows[1]), 2, made.link])))
    made.root.ParentTreeNextKey = 3
    data = b"a: 1\n"
    file = pdf.make_indirect(Stream(pdf, data, Type=Name.EmbeddedFile, Subtype=Name("/text/yaml"), Params=Dictionary(
        ModDate=String("D:20260504093000+02'00'"), Size=len(data), CheckSum=String(hashlib.md5(data).digest()))))
    part = pdf.make_indirect(Dictionary(Type=Name.Filespec, F=String("visit.yaml"), UF=String("visit.yaml"), Desc=String("the visit"),
                                        AFRelationship=Name.Source, EF=Dictionary(F=file, UF=file)))
    profile = pdf.make_indirect(Stream(pdf, icc_profile(), N=3))
    entries = pdf.make_indirect(Dictionary(Type=Name.Outlines))
    entry = pdf.make_indirect(Dictionary(Title=String("a heading"), Parent=entries, Dest=Array([pdf.pages[0].obj, Name.Fit])))
    entries.update(Dictionary(First=entry, Last=entry, Count=1))
    pdf.Root.update(Dictionary(
        Lang=String("en-GB"), MarkInfo=Dictionary(Marked=True), StructTreeRoot=made.root,
        ViewerPreferences=Dictionary(DisplayDocTitle=True), AF=Array([part]), Outlines=entries,
        Metadata=pdf.make_indirect(Stream(pdf, XMP.encode(), Type=Name.Metadata, Subtype=Name.XML)),
        Names=Dictionary(EmbeddedFiles=Dictionary(Names=Array([String("visit.yaml"), part]))),
        OutputIntents=Array([Dictionary(Type=Name.OutputIntent, S=Name("/GTS_PDFA1"), OutputConditionIdentifier=String("sRGB"),
                                        Info=String("sRGB"), DestOutputProfile=profile)]),
    ))
    when = String("D:20260504093000+02'00'")
    pdf.trailer.Info = pdf.make_indirect(Dictionary(
        Title=String("a title"), Author=String("an author"), Subject=String("a subject"), Keywords=String("some, words"),
        Creator=String("a tool"), Producer=String("a producer"), CreationDate=when, ModDate=when))
    pdf.trailer.ID = Array([String(b"0123456789abcdef")] * 2)


def written(pdf):
    """The file's bytes in plain form, every object spaced as the archive standard asks."""
    out, places = bytearray(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"), {}
    for thing in pdf.objects:
        number = thing.objgen[0]
        if number == 0 or number in places:
            continue
        places[number] = len(out)
        out += b"%d 0 obj\n" % number
        if isinstance(thing, Stream):
            raw = thing.read_raw_bytes()
            head = Dictionary(dict(thing.stream_dict.items()))
            head.Length = len(raw)
            out += head.unparse() + b"\nstream\n" + raw + b"\nendstream"
        else:
            out += thing.unparse(resolved=True) if thing is not None else b"null"
        out += b"\nendobj\n"
    start, count = len(out), max(places) + 1
    out += b"xref\n0 %d\n0000000000 65535 f \n" % count
    for number in range(1, count):
        out += b"%010d 00000 n \n" % places[number] if number in places else b"0000000000 65535 f \n"
    trailer = Dictionary(Root=pdf.Root, Info=pdf.trailer.Info, Size=count)
    if "/ID" in pdf.trailer:
        trailer.ID = pdf.trailer.ID
    return bytes(out + b"trailer\n" + trailer.unparse() + b"\nstartxref\n%d\n%%%%EOF\n" % start)


if __name__ == "__main__":
    import sys

    open(sys.argv[1], "wb").write(written(build()))
