"""The XMP packet and the Info dictionary (ISO 19005-3, 6.6; ISO 14289-1, 5; XMP Specification, September 2005)."""

import datetime
import re

from lxml import etree
from pikepdf import Name, Stream

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XML = "http://www.w3.org/XML/1998/namespace"
PDFAID = "http://www.aiim.org/pdfa/ns/id/"
PDFUAID = "http://www.aiim.org/pdfua/ns/id/"
EXTENSION = "http://www.aiim.org/pdfa/ns/extension/"
SCHEMA = "http://www.aiim.org/pdfa/ns/schema#"
PROPERTY = "http://www.aiim.org/pdfa/ns/property#"
TYPE = "http://www.aiim.org/pdfa/ns/type#"
FIELD = "http://www.aiim.org/pdfa/ns/field#"
PREFIXES = {EXTENSION: "pdfaExtension", SCHEMA: "pdfaSchema", PROPERTY: "pdfaProperty", TYPE: "pdfaType", FIELD: "pdfaField"}
# Schemas of the XMP Specification 2005 that a certificate may use, with the type of each property.
KNOWN = {
    "http://purl.org/dc/elements/1.1/": ("dc", {
        "contributor": "bag Text", "coverage": "Text", "creator": "seq Text", "date": "seq Date", "description": "alt",
        "format": "Text", "identifier": "Text", "language": "bag Text", "publisher": "bag Text", "relation": "bag Text",
        "rights": "alt", "source": "Text", "subject": "bag Text", "title": "alt", "type": "bag Text"}),
    "http://ns.adobe.com/xap/1.0/": ("xmp", {
        "BaseURL": "Text", "CreateDate": "Date", "CreatorTool": "Text", "Identifier": "bag Text", "Label": "Text",
        "MetadataDate": "Date", "ModifyDate": "Date", "Nickname": "Text", "Rating": "Integer"}),
    "http://ns.adobe.com/pdf/1.3/": ("pdf", {"Keywords": "Text", "PDFVersion": "Text", "Producer": "Text"}),
    "http://ns.adobe.com/xap/1.0/mm/": ("xmpMM", {
        "DocumentID": "Text", "InstanceID": "Text", "VersionID": "Text", "RenditionClass": "Text"}),
    "http://ns.adobe.com/xap/1.0/rights/": ("xmpRights", {
        "Certificate": "Text", "Marked": "Boolean", "Owner": "bag Text", "UsageTerms": "alt", "WebStatement": "Text"}),
    PDFAID: ("pdfaid", {"part": "Integer", "amd": "Text", "corr": "Text", "conformance": "Text"}),
}
TYPES = {"Text", "Integer", "Boolean", "Date", "URI", "URL", "Real", "Lang Alt", "ProperName", "MIMEType", "Locale"}
SYNTAX = {
    "Integer": r"[+-]?\d+", "Boolean": r"True|False", "Text": r"[^\x00-\x08]*",
    "Date": r"\d{4}(-\d\d(-\d\d(T\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d))?)?)?",
}
# Info key: how the packet says the same (ISO 19005-1, 6.7.3, table 1; later parts only deprecate the dictionary).
PAIRS = {
    "/Title": ("dc", "title"), "/Author": ("dc", "creator"), "/Subject": ("dc", "description"),
    "/Keywords": ("pdf", "Keywords"), "/Creator": ("xmp", "CreatorTool"), "/Producer": ("pdf", "Producer"),
    "/CreationDate": ("xmp", "CreateDate"), "/ModDate": ("xmp", "ModifyDate"),
}


def check(found, pdf, state):
    stream = pdf.Root.get("/Metadata")
    if not found.need(isinstance(stream, Stream), "A 6.6.2.1-1, UA 7.1-8", "catalog: no Metadata stream"):
        return
    kinds = (stream.get("/Type"), stream.get("/Subtype"))
    found.need(kinds == (Name.Metadata, Name.XML), "A 6.6.2.1-1", f"Metadata: Type and Subtype are {kinds}")
    found.need("/Filter" not in stream, "metadata", "Metadata: compressed, so that no plain search finds it")
    others = [thing for thing in pdf.objects if isinstance(thing, Stream) and thing.get("/Type") == Name.Metadata]
    found.need(len(others) == 1, "only-known", f"{len(others)} metadata streams")
    raw = stream.read_bytes()
    packet(found, raw)
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError as error:
        found.fail("A 6.6.2.1-5", f"Metadata: not UTF-8: {error}")
        return
    try:
        tree = etree.fromstring(raw, etree.XMLParser(resolve_entities=False, no_network=True))
    except etree.XMLSyntaxError as error:
        found.fail("A 6.6.2.1-4", f"Metadata: {error}")
        return
    said = properties(found, tree)
    extended = extensions(found, said)
    for (space, name), element in said.items():
        typed(found, space, name, element, extended)
    identifiers(found, said)
    title = said.get(("http://purl.org/dc/elements/1.1/", "title"))
    found.need(text(title).strip(), "UA 7.1-9", "Metadata: no dc:title in x-default")
    info(found, pdf, said)


def packet(found, raw):
    head = re.match(rb"<\?xpacket ([^?]*)\?>", raw)
    if not found.need(head, "A 6.6.2.1-4", f"Metadata: begins {raw[:30]!r}"):
        return
    given = dict(re.findall(rb"(\w+)=[\"']([^\"']*)[\"']", head.group(1)))
    held = given.get(b"begin") in (b"\xef\xbb\xbf", b"") and given.get(b"id") == b"W5M0MpCehiHzreSzNTczkc9d"
    found.need(held, "A 6.6.2.1-4", f"Metadata: packet header {head.group(1)!r}")
    found.need(b"bytes" not in given, "A 6.6.2.1-2", "Metadata: attribute bytes in the packet header")
    found.need(b"encoding" not in given, "A 6.6.2.1-3", "Metadata: attribute encoding in the packet header")
    tail = re.search(rb"<\?xpacket end=[\"'][rw][\"']\?>\s*$", raw)
    found.need(tail, "A 6.6.2.1-4", f"Metadata: ends {raw[-30:]!r}")


def properties(found, tree):
    """Every property by namespace and name, as element (an attribute becomes one)."""
    root = tree if tree.tag == f"{{{RDF}}}RDF" else tree.find(f"{{{RDF}}}RDF")
    outer = tree.tag in (f"{{{RDF}}}RDF", "{adobe:ns:meta/}xmpmeta")
    if not found.need(root is not None and outer, "A 6.6.2.1-4", f"Metadata: no rdf:RDF in {tree.tag}"):
        return {}
    said, about = {}, set()
    for block in root:
        held = block.tag == f"{{{RDF}}}Description" and f"{{{RDF}}}about" in block.attrib
        found.need(held, "A 6.6.2.1-4", f"Metadata: {block.tag} without rdf:about")
        about.add(block.get(f"{{{RDF}}}about"))
        loose = [etree.Element(key, nsmap=block.nsmap) for key in block.attrib if not key.startswith(f"{{{RDF}}}")]
        for element in loose:
            element.text = block.get(element.tag)
        for element in [*loose, *block]:
            name = etree.QName(element)
            held = (name.namespace, name.localname) not in said
            found.need(held, "A 6.6.2.1-4", f"Metadata: {name.localname} is there twice")
            said[(name.namespace, name.localname)] = element
    found.need(len(about) == 1, "A 6.6.2.1-4", f"Metadata: several rdf:about: {about}")
    return said


def items(element, kind):
    """Items of a bag, seq or alt; None when it is something else."""
    inner = [child for child in element if isinstance(child.tag, str)]
    if len(inner) != 1 or inner[0].tag != f"{{{RDF}}}{kind.capitalize()}":
        return None
    inside = list(inner[0])
    return inside if all(item.tag == f"{{{RDF}}}li" for item in inside) else None


def typed(found, space, name, element, extended):
    prefix, names = KNOWN.get(space, (None, {}))
    if space == EXTENSION:
        return
    kind = names.get(name) or extended.get((space, name))
    if not found.need(kind, "A 6.6.2.3.1-1", f"Metadata: {{{space}}}{name} is neither predefined nor described"):
        return
    found.need(prefix is None or element.prefix == prefix, "metadata", f"Metadata: prefix {element.prefix} for {prefix}:{name}")
    held = fits(element, kind)
    found.need(held, "A 6.6.2.3.1-2", f"Metadata: {name} is not {kind}: {etree.tostring(element)[:120]!r}")


def fits(element, kind):
    if kind in ("alt", "Lang Alt"):
        inside = items(element, "alt")
        return bool(inside) and inside[0].get(f"{{{XML}}}lang") == "x-default" and all(
            item.get(f"{{{XML}}}lang") and len(item) == 0 for item in inside)
    if " " in kind:
        shape, kind = kind.split(" ", 1)
        inside = items(element, shape)
        return bool(inside) and all(fits(item, kind) for item in inside)
    return len(element) == 0 and re.fullmatch(SYNTAX.get(kind, SYNTAX["Text"]), element.text or "") is not None


def text(element):
    """Text of a property: plain, the x-default of an alternative, or the only item of a list."""
    if element is None:
        return ""
    for shape in ("alt", "seq", "bag"):
        inside = items(element, shape)
        if inside is not None:
            named = [item for item in inside if item.get(f"{{{XML}}}lang") == "x-default"]
            return (named or inside or [element])[0].text or ""
    return element.text or ""


def identifiers(found, said):
    def one(space, name, prefix, rules, wanted, tests):
        element = said.get((space, name))
        if not found.need(element is not None, rules, f"Metadata: no {prefix}:{name}"):
            return
        found.need(element.text == wanted, tests, f"Metadata: {prefix}:{name} is {element.text}, not {wanted}")
        held = element.prefix == prefix
        found.need(held, "UA 5-3" if space == PDFUAID else "A 6.6.4-4", f"Metadata: prefix {element.prefix} for {prefix}")

    one(PDFAID, "part", "pdfaid", "A 6.6.4-1", "3", "A 6.6.4-2")
    one(PDFAID, "conformance", "pdfaid", "A 6.6.4-1", "A", "A 6.6.4-3")
    one(PDFUAID, "part", "pdfuaid", "UA 5-1", "1", "UA 5-2")


def fields(found, item, space, wanted, optional=()):
    """Fields of a structure of one namespace, as elements by name."""
    if item.get(f"{{{RDF}}}parseType") == "Resource":
        inner = item
    else:
        inside = list(item)
        held = len(inside) == 1 and inside[0].tag == f"{{{RDF}}}Description"
        if not found.need(held, "A 6.6.2.3.3-1", f"Metadata: {etree.tostring(item)[:80]!r} is no structure"):
            return {}
        inner = inside[0]
    out = {}
    for element in inner:
        name = etree.QName(element)
        known = name.namespace == space and name.localname in (*wanted, *optional)
        found.need(known, "A 6.6.2.3.2-1", f"Metadata: {element.prefix}:{name.localname} in an extension schema")
        held = element.prefix == PREFIXES.get(name.namespace)
        found.need(held, "A 6.6.2.3.3-2", f"Metadata: prefix {element.prefix} in an extension schema")
        out[name.localname] = element
    for name in wanted:
        held = name in out and (len(out[name]) or (out[name].text or "").strip())
        found.need(held, "A 6.6.2.3.3-3", f"Metadata: extension schema without {PREFIXES[space]}:{name}")
    return out


def extensions(found, said):
    """Properties that the extension schemas describe: (namespace, name) to type."""
    element, out = said.get((EXTENSION, "schemas")), {}
    for space, name in said:
        found.need(space != EXTENSION or name == "schemas", "A 6.6.2.3.2-1", f"Metadata: pdfaExtension:{name}")
    if element is None:
        return out
    schemas = items(element, "bag")
    held = bool(schemas) and element.prefix == "pdfaExtension"
    if not found.need(held, "A 6.6.2.3.3-1", "Metadata: pdfaExtension:schemas is no bag of that prefix"):
        return out
    for schema in schemas:
        parts = fields(found, schema, SCHEMA, ("schema", "namespaceURI", "prefix"), ("property", "valueType"))
        space = (parts["namespaceURI"].text if "namespaceURI" in parts else "") or ""
        described = items(parts["property"], "seq") if "property" in parts else None
        found.need(described, "A 6.6.2.3.3-3", f"Metadata: extension schema {space} without a seq of properties")
        own = value_types(found, parts.get("valueType"))
        for item in described or []:
            out.update(described_property(found, item, space, own))
        for other, name in said:
            if other == space and "prefix" in parts:
                held = said[(other, name)].prefix == parts["prefix"].text
                found.need(held, "A 6.6.2.3.3-2", f"Metadata: {name} has not the prefix described, {parts['prefix'].text}")
    return out


def described_property(found, item, space, own):
    parts = fields(found, item, PROPERTY, ("name", "valueType", "category", "description"))
    if len(parts) < 4:
        return {}
    kind, category = parts["valueType"].text or "", parts["category"].text
    base = re.sub(r"^(bag|seq|alt) ", "", kind)
    found.need(base in TYPES | own, "A 6.6.2.3.3-4", f"Metadata: described type {kind} is unknown")
    found.need(category in ("internal", "external"), "A 6.6.2.3.3-4", f"Metadata: category {category}")
    return {(space, parts["name"].text): kind}


def value_types(found, element):
    """Names of the types that a schema defines."""
    if element is None:
        return set()
    described = items(element, "seq")
    found.need(described, "A 6.6.2.3.3-5", "Metadata: pdfaSchema:valueType is no seq")
    out = set()
    for item in described or []:
        parts = fields(found, item, TYPE, ("type", "namespaceURI", "prefix", "description"), ("field",))
        out.add(parts["type"].text if "type" in parts else None)
        for part in items(parts["field"], "seq") or [] if "field" in parts else []:
            described_field = fields(found, part, FIELD, ("name", "valueType", "description"))
            kind = described_field["valueType"].text if "valueType" in described_field else None
            found.need(kind in TYPES | out, "A 6.6.2.3.3-6", f"Metadata: described field type {kind} is unknown")
    return out


def moment(said):
    """A moment of Info or of the packet with its zone; None when it is neither."""
    match = re.fullmatch(r"D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(Z|[+-]\d\d'?\d\d)'?", said)
    if match:
        zone = match.group(7).replace("'", "")
        said = "{}-{}-{}T{}:{}:{}".format(*match.groups()[:6]) + (zone if zone == "Z" else f"{zone[:3]}:{zone[3:]}")
    try:
        when = datetime.datetime.fromisoformat(said)
    except ValueError:
        return None
    return (when, when.utcoffset()) if when.tzinfo else None


def info(found, pdf, said):
    """What Info says, the packet says too, and the other way round."""
    spaces = {prefix: space for space, (prefix, _) in KNOWN.items()}
    book = pdf.docinfo if "/Info" in pdf.trailer else {}
    for key in book.keys():
        found.need(key in PAIRS, "info", f"Info: {key}")
    for key, (prefix, name) in PAIRS.items():
        element = said.get((spaces[prefix], name))
        here, there = str(book[key]) if key in book else None, text(element) if element is not None else None
        if here is None and there is None:
            found.need(key not in ("/Title", "/CreationDate"), "info", f"neither Info nor Metadata has {key}")
            continue
        found.need(here != "", "info", f"Info: {key} is empty")
        if key == "/Author" and element is not None:
            found.need(len(items(element, "seq") or []) == 1, "info", "Metadata: dc:creator has not one item")
        if name.endswith("Date"):
            here, there = moment(here or ""), moment(there or "")
            found.need(here is not None, "info", f"Info: {key} is no date with a zone: {book.get(key)}")
        found.need(here == there, "info", f"Info says {key} {here!r}, Metadata {there!r}")
