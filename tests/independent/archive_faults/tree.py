"""Faults in the structure tree: rules that must be named, and a function that breaks them."""

from pikepdf import Array, Dictionary, Name, String

from .objects import at, page


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


def structure(pdf):
    return pdf.Root.StructTreeRoot


def parents(pdf):
    return structure(pdf).ParentTree


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


TREE = [
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
    ("tables", kids_of("LI", without("Lbl"))),
    ("tables", kids_of("LI", without("LBody"))),
    ("tables", no_headers),
    ("UA 7.18.5-1", rename("Link", "Span")),
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
