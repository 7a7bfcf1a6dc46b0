"""The structure tree: elements, attributes, kids, and their ties to content (ISO 32000-1, 14.7 and 14.8)."""

from pikepdf import Array, Dictionary, Name, Object, String

from . import tables
from .document import LANGUAGE

GROUPING = {"Document", "Part", "Art", "Sect", "Div", "BlockQuote", "Caption", "TOC", "TOCI", "Index", "NonStruct", "Private"}
HEADINGS = {"H", "H1", "H2", "H3", "H4", "H5", "H6"}
BLOCK = HEADINGS | {"P", "L", "LI", "Lbl", "LBody", "Table", "TR", "TH", "TD", "THead", "TBody", "TFoot"}
INLINE = {"Span", "Quote", "Note", "Reference", "BibEntry", "Code", "Link", "Annot", "Ruby", "RB", "RT", "RP", "Warichu", "WT", "WP"}
STANDARD = GROUPING | BLOCK | INLINE | {"Figure", "Formula", "Form"}
# Kids that a paragraph, heading or label may not hold: blocks and groups (14.8.4.3 and 14.8.4.4).
WITHOUT_BLOCKS = HEADINGS | {"P", "Span", "Lbl", "Quote", "Code"}
ELEMENT = {"/Type", "/S", "/P", "/ID", "/Pg", "/K", "/A", "/C", "/R", "/T", "/Lang", "/Alt", "/E", "/ActualText", "/AF"}
ROOT = {"/Type", "/K", "/ParentTree", "/ParentTreeNextKey", "/RoleMap", "/IDTree", "/ClassMap"}
MAY_BE_EMPTY = {"TH", "TD", "NonStruct", "Private"}


class Element:
    """An element with its standard type, kids and the marks it holds."""

    def __init__(self, thing, kind, parent):
        self.thing, self.kind, self.parent, self.kids, self.marks, self.others = thing, kind, parent, [], [], 0
        self.trail = [f"{kind} {thing.objgen[0]}", *(parent.trail[:3] if parent else [])]

    def text(self, key):
        said = self.thing.get(key)
        return str(said) if isinstance(said, String) else None

    def attributes(self, owner):
        """Attributes of one owner, of all its attribute objects."""
        given, out = self.thing.get("/A", []), {}
        for sheet in list(given) if isinstance(given, (Array, list)) else [given]:
            if isinstance(sheet, Dictionary) and sheet.get("/O") == Name(f"/{owner}"):
                out.update(sheet.items())
        return out

    def __str__(self):
        return " in ".join(self.trail)


def check(found, pdf, state):
    root = pdf.Root.get("/StructTreeRoot")
    if not isinstance(root, Dictionary):
        return
    found.need(root.get("/Type") == Name.StructTreeRoot, "opens", f"StructTreeRoot: Type {root.get('/Type')}")
    for key in sorted(set(root.keys()) - ROOT):
        found.fail("only-known", f"StructTreeRoot: {key}")
    tree = Tree(found, pdf, root)
    for element in tree.all:
        one(found, element)
    tables.check(found, tree.all, {element.text("/ID") for element in tree.all})
    headings(found, tree.all)
    notes(found, tree.all)
    top = [element.kind for element in tree.tops]
    found.need(top == ["Document"], "tree", f"the structure's root holds {top}, not one Document")
    ties(found, pdf, root, tree, state["marks"])

    def replaced(mark):
        node = tree.owners.get(mark)
        while node is not None and not node.text("/ActualText"):
            node = node.parent
        return node is not None

    state["replaced"] = replaced


class Tree:
    """All elements in reading order, and who holds which mark."""

    def __init__(self, found, pdf, root):
        self.found, self.all, self.owners, self.seen, self.notes = found, [], {}, set(), {}
        self.pages = {page.obj.objgen for page in pdf.pages}
        self.roles = {key[1:]: str(value)[1:] for key, value in root.get("/RoleMap", Dictionary()).items()}
        for kind in sorted(self.roles.keys() & STANDARD):
            found.fail("UA 7.1-7, A 6.7.3.4-3", f"role map: the standard type {kind} is mapped")
        self.tops = [self.element(kid, None, root, None) for kid in kids(root)]

    def kind(self, said):
        trail = []
        while said not in STANDARD:
            if said in trail:
                self.found.fail("UA 7.1-6, A 6.7.3.4-2", f"role map: {trail[0]} goes round in a circle")
                return None
            trail.append(said)
            said = self.roles.get(said)
            if said is None:
                self.found.fail("UA 7.1-5, A 6.7.3.4-1", f"structure type {trail[0]} is not mapped to a standard one")
                return None
        return said

    def element(self, thing, parent, above, page):
        element = Element(thing, self.kind(str(thing.get("/S", "/"))[1:]), parent)
        self.found.need(thing.is_indirect and thing.objgen not in self.seen, "tree", f"{element} is there twice")
        self.seen.add(thing.objgen)
        self.all.append(element)
        up = thing.get("/P")
        held = isinstance(up, Dictionary) and up.objgen == above.objgen
        self.found.need(held, "UA 7.1-12", f"{element}: P does not lead to the element above")
        for key in sorted(set(thing.keys()) - ELEMENT):
            self.found.fail("only-known", f"{element}: {key}")
        page = thing.get("/Pg", page)
        for kid in kids(thing):
            if isinstance(kid, int):
                self.mark(element, page, kid)
            elif kid.get("/Type") == Name.MCR:
                self.found.need("/Stm" not in kid, "only-known", f"{element}: content of another stream")
                self.mark(element, kid.get("/Pg", page), int(kid.MCID))
            elif kid.get("/Type") == Name.OBJR:
                element.others += 1
                self.notes[kid.Obj.objgen] = element
            elif len(self.all) < 100000 and kid.objgen not in self.seen:
                element.kids.append(self.element(kid, element, thing, page))
            else:
                self.found.fail("tree", f"{element}: a kid that is there twice: {kid.objgen}")
        return element

    def mark(self, element, page, number):
        held = isinstance(page, Dictionary) and page.objgen in self.pages
        if not self.found.need(held, "parent-tree", f"{element}: MCID {number} without a page"):
            return
        key = (page.objgen, number)
        self.found.need(key not in self.owners, "parent-tree", f"{element}: MCID {number} belongs to two elements")
        self.owners[key] = element
        element.marks.append(key)


def kids(thing):
    given = thing.get("/K", [])
    return list(given) if isinstance(given, (Array, list)) else [given]


def one(found, element):
    """What holds for an element by itself."""
    kind, thing = element.kind, element.thing
    empty = not (element.kids or element.marks or element.others)
    found.need(not empty or kind in MAY_BE_EMPTY, "tree", f"{element} is empty")
    said = element.text("/Lang")
    held = said is None or LANGUAGE.fullmatch(said)
    found.need(held, "A 6.7.4-1, UA 7.2-29", f"{element}: Lang {said!r} is no language tag")
    for key in ("/Alt", "/ActualText", "/E", "/T"):
        said = element.text(key)
        found.need(said is None or said.strip(), "tree", f"{element}: {key} is empty")
    if kind in ("Figure", "Formula"):
        held = (element.text("/Alt") or "").strip() or (element.text("/ActualText") or "").strip()
        found.need(held, "UA 7.3-1" if kind == "Figure" else "UA 7.7-1", f"{element} without Alt")
    if kind == "Figure":
        box = element.attributes("Layout").get("/BBox")
        held = isinstance(box, Array) and len(box) == 4 and float(box[0]) < float(box[2]) and float(box[1]) < float(box[3])
        found.need(held, "figures", f"{element}: BBox {box}")
    attributes(found, element)
    below = [kid.kind for kid in element.kids]
    above = element.parent.kind if element.parent else None
    found.need(below.count("H") <= 1, "UA 7.4.4-1", f"{element} holds several H")
    if kind in WITHOUT_BLOCKS:
        blocks = [kid for kid in below if kid in (BLOCK | GROUPING) - {"Lbl", "NonStruct"}]
        found.need(not blocks, "tree", f"{element} holds {blocks}")
    if kind == "Document":
        found.need(above is None, "tree", f"{element}: a Document within")
    if kind in ("TOC", "TOCI", "Annot", "Form", "Ruby", "Warichu", "Private", "Index"):
        found.fail("only-known", f"{element}: {kind}")
    found.need(not thing.get("/R"), "only-known", f"{element}: revision")


def attributes(found, element):
    """Attribute objects have an owner and keys of that owner, with the values that the standard knows (14.8.5)."""
    given = element.thing.get("/A", [])
    for sheet in list(given) if isinstance(given, (Array, list)) else [given]:
        owner = str(sheet.get("/O", "")) if isinstance(sheet, Dictionary) else ""
        values = {
            "/Table": {
                "/Scope": ("/Row", "/Column", "/Both"), "/ColSpan": int, "/RowSpan": int, "/Headers": Array, "/Summary": String,
            },
            "/List": {
                "/ListNumbering": ("/None", "/Disc", "/Circle", "/Square", "/Decimal", "/UpperRoman", "/LowerRoman",
                                   "/UpperAlpha", "/LowerAlpha"),
            },
            "/Layout": {
                "/BBox": Array, "/Placement": ("/Block", "/Inline", "/Before", "/Start", "/End"), "/Width": Object,
                "/Height": Object, "/TextAlign": ("/Start", "/Center", "/End", "/Justify"),
                "/WritingMode": ("/LrTb", "/RlTb", "/TbRl"),
            },
        }.get(owner)
        if not found.need(values is not None, "attributes", f"{element}: attributes of owner {owner or None}"):
            continue
        for key, value in sheet.items():
            wanted = values.get(key)
            if key == "/O":
                continue
            held = str(value) in wanted if isinstance(wanted, tuple) else wanted is not None and isinstance(value, wanted)
            held = held or wanted is Object
            found.need(held, "attributes", f"{element}: {owner}{key} {value}")


def headings(found, elements):
    """Levels begin with 1 and skip none on the way down."""
    levels = [(int(element.kind[1]), element) for element in elements if element.kind in HEADINGS - {"H"}]
    before = 0
    for level, element in levels:
        found.need(level <= before + 1, "UA 7.4.2-1", f"{element}: heading of level {level} after level {before}")
        before = level
    plain = [element for element in elements if element.kind == "H"]
    found.need(not (plain and levels), "UA 7.4.4-2, UA 7.4.4-3", "both H and numbered headings")


def notes(found, elements):
    seen = set()
    for element in elements:
        said = element.thing.get("/ID")
        if element.kind == "Note":
            found.need(isinstance(said, String) and bytes(said), "UA 7.9-1", f"{element} without ID")
        if said is not None:
            found.need(bytes(said) not in seen, "UA 7.9-2", f"{element}: ID {said} is there twice")
            seen.add(bytes(said))


def ties(found, pdf, root, tree, marks):
    """Marks, ParentTree and elements tell the same."""
    parents = numbers(found, root.get("/ParentTree", Dictionary()))
    following = root.get("/ParentTreeNextKey")
    found.need(following is None or following > max(parents, default=-1), "parent-tree", f"ParentTreeNextKey {following}")
    used = set()
    for number, page in enumerate(pdf.pages, 1):
        page, where = page.obj, f"page {number}"
        key = page.get("/StructParents")
        there = marks.get(page.objgen, {})
        if not found.need(isinstance(key, int) or not there, "parent-tree", f"{where}: no StructParents"):
            continue
        found.need(key not in used, "parent-tree", f"{where}: StructParents {key} is used twice")
        used.add(key)
        row = parents.get(key)
        if not found.need(isinstance(row, Array), "parent-tree", f"{where}: ParentTree {key} is no array"):
            continue
        for at, thing in enumerate(row):
            owner = tree.owners.get((page.objgen, at))
            held = thing is None and owner is None or owner is not None and thing is not None and owner.thing.objgen == thing.objgen
            found.need(held, "parent-tree", f"{where}: ParentTree says MCID {at} belongs to another element than {owner}")
        for mcid, of in sorted(there.items()):
            held = (page.objgen, mcid) in tree.owners and mcid < len(row)
            found.need(held, "UA 7.1-3, parent-tree", f"{where}: MCID {mcid} belongs to no element")
            found.need(of["count"] == 1, "parent-tree", f"{where}: MCID {mcid} is there {of['count']} times")
        for other, mcid in tree.owners:
            held = other != page.objgen or mcid in there
            found.need(held, "parent-tree", f"{where}: MCID {mcid} of {tree.owners[(other, mcid)]} is not in the content")
        for note in page.get("/Annots", []):
            linked(found, note, parents, tree, used, where)
    found.need(set(parents) == used, "parent-tree", f"ParentTree has the keys {sorted(parents)}, used are {sorted(map(str, used))}")


def linked(found, note, parents, tree, used, where):
    key, owner = note.get("/StructParent"), tree.notes.get(note.objgen)
    above = parents.get(key)
    held = owner is not None and isinstance(above, Dictionary) and above.objgen == owner.thing.objgen
    found.need(held and owner.kind == "Link", "UA 7.18.5-1", f"{where}: a link that no Link element holds")
    used.add(key)


def numbers(found, node, depth=0):
    """A number tree as a dictionary."""
    pairs = list(node.get("/Nums", []))
    out = dict(zip([int(key) for key in pairs[::2]], pairs[1::2]))
    found.need(list(out) == sorted(out) and len(pairs) == 2 * len(out), "parent-tree", "ParentTree is not in order")
    for kid in node.get("/Kids", []) if depth < 20 else []:
        below = numbers(found, kid, depth + 1)
        limits = [int(end) for end in kid.get("/Limits", [])]
        found.need(below and limits == [min(below), max(below)], "parent-tree", f"ParentTree: Limits {limits}")
        out.update(below)
    return out
