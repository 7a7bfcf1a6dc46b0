"""Faults in the document's objects: rules that must be named, and a function that breaks them."""

import io
import zlib

from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Encryption, Name, Stream, String


def root(key, value):
    def fault(pdf):
        if value is None:
            del pdf.Root[key]
        else:
            pdf.Root[key] = value

    fault.__name__ = f"catalog {key} = {value}"
    return fault


def at(find, key, value):
    """A fault that sets (None: removes) one key of the object that `find` returns."""

    def fault(pdf):
        thing = find(pdf)
        if value is None:
            del thing[key]
        else:
            thing[key] = value(pdf) if callable(value) else value

    fault.__name__ = f"{find.__name__} {key} = {value.__name__ if callable(value) else value}"
    return fault


def elements(pdf, kind):
    found = [thing for thing in pdf.objects if isinstance(thing, Dictionary) and thing.get("/S") == Name(f"/{kind}") and "/P" in thing]
    assert found, kind
    return found


def element(kind, which=0):
    def find(pdf):
        return elements(pdf, kind)[which]

    find.__name__ = f"element {kind}"
    return find


def rename(kind, new, which=0):
    return at(element(kind, which), "/S", Name(f"/{new}"))


def page(pdf):
    return pdf.pages[0].obj


def second_page(pdf):
    return pdf.pages[1].obj


def font(pdf):
    return page(pdf).Resources.Font.F1


def cid_font(pdf):
    return font(pdf).DescendantFonts[0]


def descriptor(pdf):
    return cid_font(pdf).FontDescriptor


def to_unicode(old, new):
    def fault(pdf):
        stream = font(pdf).ToUnicode
        assert old in stream.read_bytes(), old
        stream.write(stream.read_bytes().replace(old, new, 1))

    fault.__name__ = f"ToUnicode {old} = {new}"
    return fault


def program(change):
    """A fault within the embedded TrueType program."""

    def fault(pdf):
        sheet, out = TTFont(io.BytesIO(descriptor(pdf).FontFile2.read_bytes())), io.BytesIO()
        change(sheet)
        sheet.save(out)
        descriptor(pdf).FontFile2.write(out.getvalue())
        descriptor(pdf).FontFile2.Length1 = len(out.getvalue())

    fault.__name__ = f"program {change.__name__}"
    return fault


def no_rights(sheet):
    sheet["OS/2"].fsType = 2


def empty_glyph(sheet):
    order = sheet.getGlyphOrder()
    sheet["glyf"][order[2]] = sheet["glyf"][order[1]]


def image(pdf):
    return page(pdf).Resources.XObject.Im


def form(pdf):
    return page(pdf).Resources.XObject.Fm


def half(pdf):
    return page(pdf).Resources.ExtGState.Half


def filespec(pdf):
    return pdf.Root.AF[0]


def embedded(pdf):
    return filespec(pdf).EF.F


def link(pdf):
    return pdf.pages[1].obj.Annots[0]


def intent(pdf):
    return pdf.Root.OutputIntents[0]


def structure(pdf):
    return pdf.Root.StructTreeRoot


def parents(pdf):
    return structure(pdf).ParentTree


def entry(pdf):
    return pdf.Root.Outlines.First


def info(pdf):
    return pdf.trailer.Info


def profile(offset, new, find=lambda pdf: intent(pdf).DestOutputProfile):
    def fault(pdf):
        stream = find(pdf)
        raw = stream.read_bytes()
        stream.write(raw[:offset] + new + raw[offset + len(new):])

    fault.__name__ = f"profile byte {offset} = {new}"
    return fault


def kids_of(kind, change, which=0):
    def fault(pdf):
        change(pdf, elements(pdf, kind)[which])

    fault.__name__ = f"kids of {kind}: {change.__name__}"
    return fault


def more(*kinds):
    """Adds empty kids of these types, in front (`^kind`) or behind."""

    def change(pdf, above):
        for kind in kinds:
            new = pdf.make_indirect(Dictionary(S=Name("/" + kind.strip("^")), P=above, K=Array()))
            if kind.startswith("^"):
                above.K.insert(0, new)
            else:
                above.K.append(new)

    change.__name__ = f"more {kinds}"
    return change


def without(kind):
    def change(_, above):
        kept = [kid for kid in above.K if isinstance(kid, int) or kid.get("/S") != Name(f"/{kind}")]
        above.K = Array(kept)

    change.__name__ = f"without {kind}"
    return change


def twice(_, above):
    above.K.append(above.K[0])


def second_font(pdf):
    """The same name for two programs."""
    other = page(pdf).Resources.Font.F2
    name = descriptor(pdf).FontName
    other.BaseFont = Name(f"{name}-Identity-H")
    other.DescendantFonts[0].BaseFont = other.DescendantFonts[0].FontDescriptor.FontName = name
    font(pdf).BaseFont = cid_font(pdf).BaseFont = descriptor(pdf).FontName = Name(f"{name}-Identity-H")


def stream(data, **keys):
    def new(pdf):
        return pdf.make_indirect(Stream(pdf, data, **keys))

    new.__name__ = f"stream {data!r}"
    return new


def no_identifier(pdf):
    del pdf.trailer.ID


def encrypted(pdf):
    out = io.BytesIO()
    pdf.save(out, encryption=Encryption(owner="a", user=""))
    return out.getvalue()


def packed_metadata(pdf):
    raw = pdf.Root.Metadata.read_bytes()
    pdf.Root.Metadata.write(zlib.compress(raw), filter=Name.FlateDecode)


def cut_flate(pdf):
    stream = page(pdf).Contents
    stream.write(stream.read_raw_bytes()[:-6], filter=Name.FlateDecode)


def lzw(pdf):
    page(pdf).Contents.write(b"\x80\x0b\x60\x50\x22\x0c\x0c\x85\x01", filter=Name.LZWDecode)


def no_intent_no_group(pdf):
    del pdf.Root.OutputIntents
    for one in pdf.pages:
        del one.obj.Group


def second_intent(pdf):
    pdf.Root.OutputIntents.append(Dictionary(S=Name("/GTS_PDFX")))
    return pdf.Root.OutputIntents[0]


def inherited_resources(pdf):
    pdf.Root.Pages.Resources = page(pdf).Resources
    del page(pdf).Resources


def marks_in_form(pdf):
    form(pdf).write(b"/P <</MCID 0>> BDC EMC")


def no_body(pdf):
    table = elements(pdf, "Table")[0]
    more("TFoot")(pdf, table)
    without("TBody")(pdf, table)


def overlapping(pdf):
    five, twelve = elements(pdf, "TD")[1:3]
    five.A = Dictionary(O=Name.Table, RowSpan=2)
    twelve.A = Dictionary(O=Name.Table, ColSpan=2)


def in_foot(pdf, table):
    more("TFoot")(pdf, table)
    more("TD")(pdf, table.K[-1])


def no_headers(pdf):
    for cell in elements(pdf, "TH"):
        cell.S = Name.TD


def parents_swapped(pdf):
    row = parents(pdf).Nums[1]
    row[0], row[1] = row[1], row[0]


def parents_short(pdf):
    del parents(pdf).Nums[1][-1]


OBJECTS = [
    # the file and its catalog
    ("A 6.1.3-1", no_identifier),
    ("A 6.1.3-2, UA 7.16-1", encrypted),
    ("A 6.1.7.1-1", cut_flate),
    ("A 6.1.7.1-3", at(embedded, "/F", String("elsewhere"))),
    ("A 6.1.7.2-1", lzw),
    ("A 6.1.13-4", root("/PageMode", Name("/" + "a" * 128))),
    ("opens", root("/PageMode", String("UseOutlines"))),
    ("only-known", root("/Perms", Dictionary())),
    ("only-known", root("/AcroForm", Dictionary(Fields=Array()))),
    ("only-known", root("/OCProperties", Dictionary())),
    ("only-known", root("/OpenAction", Dictionary(S=Name.JavaScript, JS=String("")))),
    ("A 6.4.2-2", root("/NeedsRendering", True)),
    ("A 6.5.2-1", root("/AA", Dictionary())),
    ("A 6.11-1", root("/Requirements", Array())),
    ("A 6.10-1", root("/Names", Dictionary(AlternatePresentations=Dictionary()))),
    ("only-known", root("/Names", Dictionary(JavaScript=Dictionary()))),
    ("UA 7.2-22, UA 7.2-33, UA 7.2-34", root("/Lang", None)),
    ("UA 7.2-33", root("/Lang", String(""))),
    ("A 6.7.4-1, UA 7.2-29", root("/Lang", String("english please"))),
    ("A 6.7.4-1, UA 7.2-29", root("/Lang", String("en_GB"))),
    ("A 6.7.2.2-1, UA 6.2-1", root("/MarkInfo", None)),
    ("A 6.7.2.2-1, UA 6.2-1", root("/MarkInfo", Dictionary(Marked=False))),
    ("UA 7.1-4", root("/MarkInfo", Dictionary(Marked=True, Suspects=True))),
    ("A 6.7.3.3-1, UA 7.1-11", root("/StructTreeRoot", None)),
    ("UA 7.1-10", root("/ViewerPreferences", None)),
    ("UA 7.1-10", root("/ViewerPreferences", Dictionary(DisplayDocTitle=False))),
    ("A 6.6.2.1-1, UA 7.1-8", root("/Metadata", None)),
    ("A 6.6.2.1-1", at(lambda pdf: pdf.Root.Metadata, "/Subtype", None)),
    ("metadata", packed_metadata),
    ("opens", at(entry, "/Title", None)),
    ("opens", at(entry, "/Dest", None)),
    ("opens", at(entry, "/Parent", Dictionary())),
    ("A 6.5.1-1", at(entry, "/A", Dictionary(S=Name.Launch))),
    # Info
    ("info", at(info, "/Title", String("another"))),
    ("info", at(info, "/Author", String("another"))),
    ("info", at(info, "/Creator", String(""))),
    ("info", at(info, "/CreationDate", String("D:20260504093000"))),
    ("info", at(info, "/ModDate", String("D:20260504093000+01'00'"))),
    ("info", at(info, "/Keywords", None)),
    ("info", at(info, "/Trapped", Name.false)),
    # output intent and colour
    ("A 6.2.3-1, A 6.2.4.3-2, A 6.2.4.3-4, A 6.2.10-2", no_intent_no_group),
    ("A 6.2.3-1", at(intent, "/S", Name("/GTS_PDFX"))),
    ("A 6.2.3-1", at(intent, "/OutputConditionIdentifier", None)),
    ("A 6.2.3-1", at(intent, "/DestOutputProfile", None)),
    ("A 6.2.3-1", at(lambda pdf: pdf.Root.OutputIntents, 0, second_intent)),
    ("A 6.2.3-3", at(intent, "/DestOutputProfileRef", Dictionary())),
    ("A 6.2.3-1", at(lambda pdf: intent(pdf).DestOutputProfile, "/N", 4)),
    ("A 6.2.3-1", profile(8, b"\x05")),
    ("A 6.2.3-1", profile(12, b"scnr")),
    ("A 6.2.3-1", profile(16, b"Lab ")),
    ("A 6.2.3-1", profile(36, b"abcd")),
    ("A 6.2.3-1", profile(0, b"\1")),
    ("A 6.2.3-1", profile(132, b"nope")),
    ("A 6.2.4.2-1", profile(12, b"link", lambda pdf: page(pdf).Resources.ColorSpace.Own[1])),
    ("only-known", at(lambda pdf: page(pdf).Resources.ColorSpace, "/Own", Array([Name.Lab, Dictionary()]))),
    ("A 6.2.4.3-3", at(image, "/ColorSpace", Name.DeviceCMYK)),
    ("blending", at(second_page, "/Group", Dictionary(S=Name.Transparency))),
    ("A 6.2.5-1", at(half, "/TR", Name.Identity)),
    ("A 6.2.5-2", at(half, "/TR2", Name.Identity)),
    ("A 6.2.5-3", at(half, "/HTP", Array([0, 0]))),
    ("only-known", at(half, "/HT", Dictionary())),
    ("A 6.2.6-1", at(half, "/RI", Name.Vivid)),
    ("A 6.2.10-1", at(half, "/BM", Name.Glow)),
    ("opens", at(half, "/ca", 2)),
    ("only-known", at(half, "/SMask", Dictionary())),
    # images and forms
    ("A 6.2.6-1", at(image, "/Intent", Name.Vivid)),
    ("A 6.2.8-1", at(image, "/Alternates", Array())),
    ("A 6.2.8-2", at(image, "/OPI", Dictionary())),
    ("A 6.2.8-3", at(image, "/Interpolate", True)),
    ("A 6.2.8-4", at(image, "/BitsPerComponent", 12)),
    ("A 6.2.8-5", at(image, "/ImageMask", True)),
    ("opens", at(image, "/Height", 3)),
    ("opens", at(lambda pdf: image(pdf).SMask, "/ColorSpace", Name.DeviceRGB)),
    ("A 6.2.9-1", at(form, "/OPI", Dictionary())),
    ("A 6.2.9-1", at(form, "/Subtype2", Name.PS)),
    ("A 6.2.9-2, UA 7.20-1", at(form, "/Ref", Dictionary())),
    ("A 6.2.9-3", at(form, "/Subtype", Name.PS)),
    ("A 6.2.2-2", at(form, "/Resources", None)),
    ("only-known", at(form, "/OC", Dictionary())),
    ("only-known", marks_in_form),
    # pages and annotations
    ("A 6.2.2-2", inherited_resources),
    ("A 6.5.2-2", at(page, "/AA", Dictionary())),
    ("A 6.10-2", at(page, "/PresSteps", Dictionary())),
    ("A 6.1.13-11", at(page, "/MediaBox", Array([0, 0, 595, 14401]))),
    ("A 6.1.13-11", at(page, "/CropBox", Array([0, 0, 2, 842]))),
    ("UA 7.18.3-1", at(page, "/Tabs", None)),
    ("UA 7.18.3-1", at(page, "/Tabs", Name.R)),
    ("A 6.3.1-1", at(link, "/Subtype", Name.Screen)),
    ("A 6.3.2-1", at(link, "/F", None)),
    ("A 6.3.2-2", at(link, "/F", 0)),
    ("A 6.3.2-2", at(link, "/F", 6)),
    ("A 6.5.1-1", at(link, "/A", Dictionary(S=Name.JavaScript))),
    ("only-known", at(link, "/A", Dictionary(S=Name.Named, N=Name.NextPage))),
    ("UA 7.18.5-2", at(link, "/Contents", None)),
    ("UA 7.18.5-1", at(link, "/StructParent", None)),
    ("UA 7.18.5-1", rename("Link", "Span")),
    # attachments
    ("A 6.8-1", at(embedded, "/Subtype", None)),
    ("A 6.8-1", at(embedded, "/Subtype", Name("/yaml"))),
    ("A 6.8-2, UA 7.11-1", at(filespec, "/F", None)),
    ("A 6.8-2, UA 7.11-1", at(filespec, "/UF", String(""))),
    ("A 6.8-3", at(filespec, "/AFRelationship", None)),
    ("A 6.8-3", at(filespec, "/AFRelationship", Name.Friend)),
    ("A 6.8-4", root("/AF", Array())),
    ("attachments", at(filespec, "/Desc", None)),
    ("attachments", at(filespec, "/Type", None)),
    ("attachments", at(lambda pdf: embedded(pdf).Params, "/ModDate", None)),
    ("attachments", at(lambda pdf: embedded(pdf).Params, "/Size", 4)),
    ("attachments", at(lambda pdf: embedded(pdf).Params, "/CheckSum", String("a" * 16))),
    ("attachments", at(lambda pdf: pdf.Root.Names, "/EmbeddedFiles", None)),
    # fonts
    ("A 6.2.11.2-1", at(cid_font, "/Type", None)),
    ("A 6.2.11.2-1", at(font, "/Type", None)),
    ("A 6.2.11.2-1", at(descriptor, "/Flags", None)),
    ("A 6.2.11.2-1", at(font, "/DescendantFonts", Array())),
    ("A 6.2.11.2-2, only-known", at(font, "/Subtype", Name.Type3)),
    ("A 6.2.11.2-3", at(font, "/BaseFont", None)),
    ("A 6.2.11.2-3", at(descriptor, "/FontName", Name.Other)),
    ("A 6.2.11.2-7", at(lambda pdf: descriptor(pdf).FontFile2, "/Subtype", Name.Type1C)),
    ("A 6.2.11.3.1-1, UA 7.21.3.1-1", at(cid_font, "/CIDSystemInfo", None)),
    ("A 6.2.11.3.2-1, UA 7.21.3.2-1", at(cid_font, "/CIDToGIDMap", None)),
    ("A 6.2.11.3.3-1, UA 7.21.3.3-1", at(font, "/Encoding", Name("/Other-H"))),
    ("A 6.2.11.3.3-3, UA 7.21.3.3-3", to_unicode(b"begincmap", b"begincmap\n/Other usecmap")),
    ("A 6.2.11.4.1-1, UA 7.21.4.1-1", at(descriptor, "/FontFile2", None)),
    ("A 6.2.11.4.2-2, UA 7.21.4.2-2", at(descriptor, "/CIDSet", stream(b"\xff"))),
    ("A 6.2.11.5-1, UA 7.21.5-1", at(cid_font, "/W", Array([0, Array([500 + 3 * at - 2 * (at == 9) for at in range(37)])]))),
    ("A 6.2.11.5-1, UA 7.21.5-1", at(cid_font, "/W", None)),
    ("A 6.1.13-10", at(cid_font, "/W", Array([65536, Array([500])]))),
    ("A 6.2.11.7.2-1, UA 7.21.7-1", at(font, "/ToUnicode", None)),
    ("A 6.2.11.7.2-1, UA 7.21.7-1", to_unicode(b"<0002> <0061>", b"<0090> <0061>")),
    ("A 6.2.11.7.2-2, UA 7.21.7-2", to_unicode(b"<0002> <0061>", b"<0002> <0000>")),
    ("A 6.2.11.7.2-2, UA 7.21.7-2", to_unicode(b"<0002> <0061>", b"<0002> <FEFF>")),
    ("A 6.2.11.7.2-2, UA 7.21.7-2", to_unicode(b"<0002> <0061>", b"<0002> <0061FFFE>")),
    ("A 6.2.11.7.2-2, UA 7.21.7-2", to_unicode(b"<0002> <0061>", b"<0002> <D800>")),
    ("A 6.2.11.7.3-1", to_unicode(b"<0002> <0061>", b"<0002> <E061>")),
    ("glyphs", to_unicode(b"<0002> <0061>", b"<0002> <FFFD>")),
    ("glyphs", program(empty_glyph)),
    ("cmap", to_unicode(b"<0000> <FFFF>", b"<00> <FF>")),
    ("cmap", to_unicode(b"endcmap", b"")),
    ("font-programs", program(no_rights)),
    ("font-programs", second_font),
    ("font-programs", at(lambda pdf: descriptor(pdf).FontFile2, "/Length1", 7)),
    ("font-programs", at(descriptor, "/FontFile2", stream(b"no font", Length1=7))),
    # structure
    ("UA 7.1-5, A 6.7.3.4-1", rename("P", "Story")),
    ("UA 7.1-6, A 6.7.3.4-2", at(structure, "/RoleMap", Dictionary(Figures=Name.Pictures, Pictures=Name.Figures))),
    ("UA 7.1-7, A 6.7.3.4-3", at(structure, "/RoleMap", Dictionary(Figures=Name.Figure, P=Name.Span))),
    ("UA 7.1-12", at(element("P"), "/P", None)),
    ("UA 7.1-12", at(element("TD"), "/P", lambda pdf: elements(pdf, "TD")[1])),
    ("A 6.7.4-1, UA 7.2-29", at(element("Span"), "/Lang", String("german"  "language"))),
    ("tree", at(element("Document"), "/Alt", String(""))),
    ("tree", kids_of("Document", more("P"))),
    ("tree", kids_of("P", more("L"))),
    ("tree", rename("Document", "Sect")),
    ("tree", kids_of("Document", more("Document"))),
    ("tree", kids_of("TBody", twice)),
    ("only-known", rename("P", "Ruby")),
    ("only-known", at(element("P"), "/Other", 1)),
    ("only-known", at(structure, "/Namespaces", Array())),
    ("UA 7.2-3", kids_of("Table", more("P"))),
    ("UA 7.2-3", kids_of("Table", more("^TBody"))),
    ("UA 7.2-4", kids_of("Document", more("TR"))),
    ("UA 7.2-5", kids_of("Document", more("THead"))),
    ("UA 7.2-6", kids_of("Document", more("TBody"))),
    ("UA 7.2-7", kids_of("Document", more("TFoot"))),
    ("UA 7.2-8", kids_of("Document", more("TH"))),
    ("UA 7.2-9", kids_of("Document", more("TD"))),
    ("UA 7.2-10", kids_of("TR", more("P"))),
    ("UA 7.2-11", kids_of("Table", more("THead"))),
    ("UA 7.2-12", kids_of("Table", more("TFoot", "TFoot"))),
    ("UA 7.2-13, UA 7.2-14", no_body),
    ("UA 7.2-15", overlapping),
    ("UA 7.2-16", kids_of("Table", more("^Caption"))),
    ("UA 7.2-17", kids_of("Document", more("LI"))),
    ("UA 7.2-18", kids_of("Document", more("LBody"))),
    ("UA 7.2-19", kids_of("L", more("P"))),
    ("UA 7.2-19", kids_of("L", more("Caption"))),
    ("UA 7.2-20", kids_of("LI", more("P"))),
    ("UA 7.2-36", kids_of("THead", more("TD"))),
    ("UA 7.2-37", kids_of("TBody", more("TD"))),
    ("UA 7.2-38", kids_of("Table", in_foot)),
    ("UA 7.2-39", kids_of("Table", more("Caption"))),
    ("UA 7.2-41", at(element("TH", 2), "/A", Dictionary(O=Name.Table, Scope=Name.Row, RowSpan=3))),
    ("UA 7.2-42, UA 7.2-43", kids_of("TR", more("TD"))),
    ("UA 7.2-42, UA 7.2-43", at(element("TH", 1), "/A", Dictionary(O=Name.Table, Scope=Name.Column))),
    ("UA 7.3-1", at(element("Figures"), "/Alt", None)),
    ("UA 7.3-1, tree", at(element("Figures"), "/Alt", String(" "))),
    ("figures", at(element("Figures"), "/A", None)),
    ("figures", at(element("Figures"), "/A", Dictionary(O=Name.Layout, BBox=Array([150, 300, 50, 400])))),
    ("UA 7.4.2-1", rename("H1", "H2")),
    ("UA 7.4.2-1", rename("H2", "H3")),
    ("UA 7.4.4-1", kids_of("Document", more("H", "H"))),
    ("UA 7.4.4-2, UA 7.4.4-3", rename("H1", "H")),
    ("UA 7.5-1", at(element("TH"), "/A", None)),
    ("UA 7.5-2", at(element("TH", 2), "/ID", None)),
    ("UA 7.7-1", at(element("Formula"), "/Alt", None)),
    ("UA 7.9-1", at(element("Note"), "/ID", None)),
    ("UA 7.9-2", at(element("Note"), "/ID", String("h3"))),
    ("attributes", at(element("TH"), "/A", Dictionary(O=Name.Table, Scope=Name.Col))),
    ("attributes", at(element("TH"), "/A", Dictionary(Scope=Name.Column))),
    ("attributes", at(element("TH"), "/A", Dictionary(O=Name.Table, Scope=Name.Column, ColSpan=0))),
    ("attributes", at(element("L"), "/A", Dictionary(O=Name.List, ListNumbering=Name.Numbers))),
    ("tables", at(element("L"), "/A", None)),
    ("tables", kids_of("LI", without("LBody"))),
    ("tables", no_headers),
    # marks and ParentTree
    ("parent-tree", at(page, "/StructParents", None)),
    ("parent-tree", at(page, "/StructParents", 1)),
    ("parent-tree", at(structure, "/ParentTreeNextKey", 2)),
    ("parent-tree", at(structure, "/ParentTree", None)),
    ("parent-tree", at(parents, "/Nums", Array())),
    ("parent-tree", parents_swapped),
    ("parent-tree", parents_short),
    ("parent-tree", at(element("P"), "/Pg", None)),
    ("parent-tree", at(element("P"), "/Pg", lambda pdf: pdf.pages[1].obj)),
]
