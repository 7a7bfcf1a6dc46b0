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


def ends_like_a_line(pdf):
    embedded(pdf).write(b"a: 1\r")


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


OBJECTS = [
    # the file and its catalog
    ("A 6.1.3-1", no_identifier),
    ("A 6.1.3-2, UA 7.16-1", encrypted),
    ("A 6.1.7.1-1", cut_flate),
    ("A 6.1.7.1-1", ends_like_a_line),
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
]
