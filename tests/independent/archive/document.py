"""Catalog, trailer, output intent, pages, annotations, actions, outline, attachments."""

import hashlib
import re
from decimal import Decimal

from pikepdf import Array, Dictionary, Name, Stream, String

CATALOG = {
    "/Type", "/Pages", "/Metadata", "/MarkInfo", "/StructTreeRoot", "/Lang", "/ViewerPreferences", "/OutputIntents",
    "/Names", "/AF", "/PageMode", "/PageLayout", "/Outlines", "/PageLabels", "/Version", "/Extensions",
}
PAGE = {
    "/Type", "/Parent", "/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox", "/Resources", "/Contents",
    "/Group", "/Tabs", "/StructParents", "/Rotate", "/Annots",
}
BOXES = ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox")
# RFC 5646, 2.1: language, script, region, variants, extensions, private use.
LANGUAGE = re.compile(
    r"([A-Za-z]{2,3}(-[A-Za-z]{3}){0,3}|[A-Za-z]{4}|[A-Za-z]{5,8})(-[A-Za-z]{4})?(-([A-Za-z]{2}|\d{3}))?"
    r"(-([A-Za-z0-9]{5,8}|\d[A-Za-z0-9]{3}))*(-[0-9A-WY-Za-wy-z](-[A-Za-z0-9]{2,8})+)*(-[xX](-[A-Za-z0-9]{1,8})+)?"
)
DATE = re.compile(r"D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(Z|[+-]\d\d'\d\d'?)$")
MIME = re.compile(r"/[-\w+.]+/[-\w+.]+$")
RELATIONS = {"/Source", "/Data", "/Alternative", "/Supplement", "/Unspecified"}
ACTIONS = {"/GoTo", "/GoToR", "/GoToE", "/Thread", "/URI", "/Named", "/SubmitForm"}


def check(found, pdf, state):
    root = pdf.Root
    page_tree(found, root.Pages, None, 0)  # before pdf.pages, which hands inherited entries down
    shapes(found, root, "catalog", set())
    extra = set(root.keys()) - CATALOG
    for key in sorted(extra):
        found.fail({"/AA": "A 6.5.2-1", "/Requirements": "A 6.11-1", "/NeedsRendering": "A 6.4.2-2"}.get(key, "only-known"),
                   f"catalog: {key}")
    identifier = pdf.trailer.get("/ID")
    held = isinstance(identifier, Array) and len(identifier) == 2 and all(len(bytes(part)) >= 16 for part in identifier)
    found.need(held, "A 6.1.3-1", f"trailer: ID {identifier}")
    found.need("/Encrypt" not in pdf.trailer and not pdf.is_encrypted, "A 6.1.3-2, UA 7.16-1", "the file is encrypted")
    found.need(root.get("/Type") == Name.Catalog, "opens", f"catalog: Type {root.get('/Type')}")
    language(found, root)
    marks = root.get("/MarkInfo", {})
    found.need(marks.get("/Marked") is True, "A 6.7.2.2-1, UA 6.2-1", "catalog: MarkInfo/Marked is not true")
    found.need(marks.get("/Suspects", False) is False, "UA 7.1-4", "catalog: MarkInfo/Suspects is true")
    found.need(isinstance(root.get("/StructTreeRoot"), Dictionary), "A 6.7.3.3-1, UA 7.1-11", "catalog: no StructTreeRoot")
    shown = root.get("/ViewerPreferences", {}).get("/DisplayDocTitle")
    found.need(shown is True, "UA 7.1-10", f"catalog: ViewerPreferences/DisplayDocTitle is {shown}")
    mode = root.get("/PageMode", Name.UseNone)
    found.need(isinstance(mode, Name), "opens", f"catalog: PageMode {mode!r} is not a name")
    state["intent"] = output_intent(found, root)
    pages(found, pdf)
    names(found, pdf, root)
    if "/Outlines" in root:
        outline(found, pdf, root.Outlines)


# Kinds of values by key, wherever it stands (ISO 32000-1, tables 20 to 355).
KINDS = {
    Name: {"/Type", "/Subtype", "/S", "/BaseFont", "/FontName", "/AFRelationship", "/BM", "/Tabs", "/Filter", "/PageLayout"},
    Dictionary: {
        "/Resources", "/Group", "/MarkInfo", "/ViewerPreferences", "/FontDescriptor", "/CIDSystemInfo", "/Params", "/EF",
        "/Font", "/XObject", "/ExtGState", "/StructTreeRoot", "/RoleMap", "/ParentTree", "/P", "/Parent", "/Pg",
    },
    Array: {"/W", "/DescendantFonts", "/Nums", "/OutputIntents", "/AF", "/Border", "/Annots"},
    String: {"/Lang", "/Alt", "/ActualText", "/T", "/Title", "/Desc", "/Contents", "/URI", "/Info", "/Registry", "/Ordering"},
}
KIND_OF = {key: kind for kind, keys in KINDS.items() for key in keys}
BOX_KEYS = {"/Rect", "/BBox", "/FontBBox", *BOXES}


def shapes(found, thing, where, seen):
    """Every value is of the kind that its key asks for."""
    if isinstance(thing, (Dictionary, Array, Stream)) and thing.is_indirect:
        if thing.objgen in seen:
            return
        seen.add(thing.objgen)
        where = f"object {thing.objgen[0]}"
    if isinstance(thing, Array):
        for value in thing:
            shapes(found, value, where, seen)
    if not isinstance(thing, (Dictionary, Stream)):
        return
    for key, value in thing.items():
        page_contents = key == "/Contents" and thing.get("/Type") == Name.Page
        font_group = key == "/P" and "/S" not in thing
        info = key == "/Info" and "/OutputConditionIdentifier" not in thing
        kind = KIND_OF.get(key)
        held = kind is None or isinstance(value, kind) or page_contents or font_group or info
        if key in BOX_KEYS:
            held = isinstance(value, Array) and len(value) == 4 and all(
                not isinstance(side, bool) and isinstance(side, (int, float, Decimal)) for side in value)
        if not held:
            found.fail("opens", f"{where}: {key} is {str(value)[:40]!r}")
        if key not in ("/P", "/Parent", "/Pg"):
            shapes(found, value, where, seen)
    if "/S" in thing and "/P" in thing:
        found.need(thing.get("/Type", Name.StructElem) == Name.StructElem, "opens", f"{where}: Type {thing.get('/Type')}")


def language(found, root):
    tag = root.get("/Lang")
    said = str(tag) if isinstance(tag, String) else ""
    if not said:
        found.fail("UA 7.2-33, UA 7.2-34, UA 7.2-22", "catalog: no Lang: language of text, titles and metadata is unknown")
    elif not LANGUAGE.fullmatch(said):
        found.fail("A 6.7.4-1, UA 7.2-29", f"catalog: Lang {said!r} is no language tag")


def output_intent(found, root):
    """Colour space of the destination profile (`RGB `…), or None."""
    intents = list(root.get("/OutputIntents", []))
    ours = [intent for intent in intents if intent.get("/S") == Name("/GTS_PDFA1")]
    if not found.need(len(intents) == len(ours) == 1, "A 6.2.3-1", f"{len(ours)} output intents GTS_PDFA1 of {len(intents)}"):
        if not ours:
            return None
    intent = ours[0]
    named = intent.get("/OutputConditionIdentifier")
    found.need(isinstance(named, String) and str(named), "A 6.2.3-1", "output intent: no OutputConditionIdentifier")
    found.need("/DestOutputProfileRef" not in intent, "A 6.2.3-3", "output intent: DestOutputProfileRef")
    profile = intent.get("/DestOutputProfile")
    if not found.need(isinstance(profile, Stream), "A 6.2.3-1", "output intent: no DestOutputProfile"):
        return None
    return icc(found, profile, "A 6.2.3-1", (b"prtr", b"mntr"), "output intent")


def icc(found, profile, rule, classes, where):
    """Header and tags of an ICC profile (ISO 15076-1, 7.2 and 7.3); its colour space."""
    data = profile.read_bytes()
    space = data[16:20].decode("latin-1")
    held = len(data) >= 132 and int.from_bytes(data[:4], "big") == len(data) and data[36:40] == b"acsp"
    held = held and data[8] in (2, 4) and data[12:16] in classes and space in ("RGB ", "GRAY", "CMYK")
    held = held and data[20:24] in (b"XYZ ", b"Lab ")
    found.need(held, rule, f"{where}: header of the ICC profile {data[:40]!r}")
    components = {"RGB ": 3, "GRAY": 1, "CMYK": 4}.get(space)
    found.need(profile.get("/N") == components, rule, f"{where}: N {profile.get('/N')} for {space}")
    tags = {}
    for index in range(int.from_bytes(data[128:132], "big")):
        entry = data[132 + 12 * index : 144 + 12 * index]
        tags[entry[:4]] = (int.from_bytes(entry[4:8], "big"), int.from_bytes(entry[8:12], "big"))
    wanted = {b"desc", b"wtpt", b"cprt"} | ({b"rXYZ", b"gXYZ", b"bXYZ", b"rTRC", b"gTRC", b"bTRC"} if components == 3 else set())
    missing = wanted - tags.keys()
    found.need(not missing, rule, f"{where}: ICC profile without {sorted(missing)}")
    for tag, (start, size) in tags.items():
        found.need(128 < start and start + size <= len(data), rule, f"{where}: ICC tag {tag!r} lies outside")
    return space


def page_tree(found, node, above, depth):
    """Leaves below a node; each page has its own Resources, each node its Parent and Count."""
    held = above is None or node.Parent.objgen == above.objgen
    found.need(held and depth < 20, "opens", f"page tree: Parent of {node.objgen}")
    if node.get("/Type") == Name.Page:
        found.need("/Resources" in node, "A 6.2.2-2", f"page {node.objgen}: its Resources are inherited or missing")
        return 1
    count = sum(page_tree(found, kid, node, depth + 1) for kid in node.Kids)
    found.need(node.get("/Type") == Name.Pages and node.get("/Count") == count, "opens", f"page tree: Count of {node.objgen}")
    return count


def pages(found, pdf):
    for number, page in enumerate(pdf.pages, 1):
        page, where = page.obj, f"page {number}"
        for key in sorted(set(page.keys()) - PAGE):
            rule = {"/AA": "A 6.5.2-2", "/PresSteps": "A 6.10-2"}.get(key, "only-known")
            found.fail(rule, f"{where}: {key}")
        for key in BOXES:
            box = page.get(key) if key != "/MediaBox" else pdf.pages[number - 1].mediabox
            if box is None:
                continue
            box = [float(side) for side in box]
            sides = (abs(box[2] - box[0]), abs(box[3] - box[1]))
            found.need(all(3 <= side <= 14400 for side in sides), "A 6.1.13-11", f"{where}: {key} {box}")
        found.need(page.get("/Tabs") == Name.S, "UA 7.18.3-1", f"{where}: Tabs is {page.get('/Tabs')}")
        found.need(len(pdf.pages[number - 1].Contents.read_bytes() if not isinstance(page.get("/Contents"), Array) else b"x") > 0,
                   "only-known", f"{where}: empty")
        for note in page.get("/Annots", []):
            annotation(found, note, where)


def annotation(found, note, where):
    """Only links are known here."""
    kind = note.get("/Subtype")
    if not found.need(kind == Name.Link, "only-known, A 6.3.1-1", f"{where}: annotation {kind}"):
        return
    flags = note.get("/F")
    found.need(isinstance(flags, int), "A 6.3.2-1", f"{where}: {kind} without F")
    held = not isinstance(flags, int) or flags & 4 and not flags & (1 | 2 | 32 | 256)
    found.need(held, "A 6.3.2-2", f"{where}: {kind} with flags {flags}")
    said = note.get("/Contents")
    found.need(isinstance(said, String) and str(said).strip(), "UA 7.18.5-2", f"{where}: {kind} without Contents")
    found.need("/StructParent" in note, "UA 7.18.5-1", f"{where}: {kind} outside the structure")
    found.need("/AP" not in note and "/AA" not in note, "only-known", f"{where}: {kind} with AP or AA")
    if "/A" in note:
        action(found, note.A, where)


def action(found, deed, where):
    kind = deed.get("/S")
    found.need(kind in ACTIONS, "A 6.5.1-1", f"{where}: action {kind}")
    found.need(kind in ("/GoTo", "/URI"), "only-known", f"{where}: action {kind}")
    if "/Next" in deed:
        action(found, deed.Next, where)


def outline(found, pdf, node):
    """Titles and places of all entries; the number of those open."""
    kids, entry = [], node.get("/First")
    while entry is not None and len(kids) < 10000:
        kids.append(entry)
        entry = entry.get("/Next")
    for kid in kids:
        title = str(kid.get("/Title", ""))
        found.need(title.strip(), "opens", "outline: an entry without Title")
        place = kid.get("/Dest")
        if "/A" in kid:
            action(found, kid.A, f"outline «{title}»")
            place = kid.A.get("/D")
        held = isinstance(place, Array) and any(page.obj.objgen == place[0].objgen for page in pdf.pages)
        found.need(held, "opens", f"outline «{title}»: leads to no page")
        found.need(kid.Parent.objgen == node.objgen, "opens", f"outline «{title}»: wrong Parent")
        outline(found, pdf, kid)
    last = node.get("/Last")
    found.need((last is None) == (not kids) and (not kids or last.objgen == kids[-1].objgen), "opens", "outline: wrong Last")


def names(found, pdf, root):
    """Attachments: the name tree, each file, and whose they are."""
    book = root.get("/Names", {})
    for key in sorted(set(book.keys()) - {"/EmbeddedFiles"}):
        rules = {"/AlternatePresentations": "A 6.10-1"}.get(key, "only-known")
        found.fail(rules, f"catalog: Names{key}")
    listed = leaves(found, book["/EmbeddedFiles"]) if "/EmbeddedFiles" in book else []
    ours = {part.objgen for part in root.get("/AF", [])}
    theirs = {part.objgen for _, part in listed}
    everywhere = [thing for thing in pdf.objects if isinstance(thing, Dictionary) and "/EF" in thing]
    for part in everywhere:
        said = str(part.get("/UF", part.get("/F", "")))
        found.need(part.objgen in ours, "A 6.8-4", f"attachment «{said}» is not in the catalog's AF")
        found.need(part.objgen in theirs, "attachments", f"attachment «{said}» is not in EmbeddedFiles")
        attachment(found, part, said)
    found.need(len(ours) == len(theirs) == len(everywhere), "attachments", "AF, EmbeddedFiles and file specifications differ")


def leaves(found, node):
    """Pairs of a name tree, which are in order."""
    pairs = list(node.get("/Names", []))
    out = [(bytes(key), value) for key, value in zip(pairs[::2], pairs[1::2])]
    for kid in node.get("/Kids", []):
        below = leaves(found, kid)
        limits = [bytes(end) for end in kid.get("/Limits", [])]
        found.need(below and limits == [below[0][0], below[-1][0]], "attachments", "name tree: Limits")
        out += below
    keys = [key for key, _ in out]
    found.need(keys == sorted(set(keys)), "attachments", f"name tree: not in order: {keys}")
    return out


def attachment(found, part, said):
    where = f"attachment «{said}»"
    found.need(part.get("/Type") == Name.Filespec, "attachments", f"{where}: Type {part.get('/Type')}")
    both = [str(part.get(key, "")) for key in ("/F", "/UF")]
    found.need(all(both), "A 6.8-2, UA 7.11-1", f"{where}: F «{both[0]}», UF «{both[1]}»")
    found.need(str(part.get("/Desc", "")).strip(), "attachments", f"{where}: no Desc")
    relation = part.get("/AFRelationship")
    found.need(relation in RELATIONS, "A 6.8-3", f"{where}: AFRelationship {relation}")
    streams = dict(part.EF.items())
    found.need(set(streams) <= {"/F", "/UF"} and "/F" in streams, "attachments", f"{where}: EF has {sorted(streams)}")
    for stream in streams.values():
        kind = stream.get("/Subtype")
        # A name with an escaped slash: text/yaml is written /text#2Fyaml.
        held = isinstance(kind, Name) and MIME.match(str(kind))
        found.need(held, "A 6.8-1", f"{where}: media type {kind}")
        content, params = stream.read_bytes(), stream.get("/Params", Dictionary())
        found.need(DATE.match(str(params.get("/ModDate", ""))), "attachments", f"{where}: ModDate {params.get('/ModDate')}")
        found.need(params.get("/Size", -1) == len(content), "attachments", f"{where}: Size {params.get('/Size')} of {len(content)}")
        if "/CheckSum" in params:
            held = bytes(params.CheckSum) == hashlib.md5(content).digest()
            found.need(held, "attachments", f"{where}: CheckSum is not that of its bytes")
