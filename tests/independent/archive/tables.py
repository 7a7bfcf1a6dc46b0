"""Tables and lists of the structure tree (ISO 14289-1, 7.2, 7.5, 7.6; ISO 32000-1, 14.8.4.3)."""

import re

# Which kids a type may hold, as one pattern over their names; and the types that must lie in certain others.
KIDS = {
    "Table": ("UA 7.2-3", r"(Caption )?(THead )*((TR|TBody) )*(TFoot )*(Caption )?"),
    "TR": ("UA 7.2-10", r"((TH|TD) )*"), "THead": ("UA 7.2-36", r"(TR )*"), "TBody": ("UA 7.2-37", r"(TR )*"),
    "TFoot": ("UA 7.2-38", r"(TR )*"), "L": ("UA 7.2-19", r"(Caption )?((L|LI) )*"), "LI": ("UA 7.2-20", r"((Lbl|LBody) )*"),
}
PARENTS = {
    "TR": ("UA 7.2-4", {"Table", "THead", "TBody", "TFoot"}), "THead": ("UA 7.2-5", {"Table"}), "TBody": ("UA 7.2-6", {"Table"}),
    "TFoot": ("UA 7.2-7", {"Table"}), "TH": ("UA 7.2-8", {"TR"}), "TD": ("UA 7.2-9", {"TR"}), "LI": ("UA 7.2-17", {"L"}),
    "LBody": ("UA 7.2-18", {"LI"}), "Caption": ("tree", {"Table", "L", "Figure", "Formula", "Sect", "Div"}),
}


def check(found, elements, identifiers):
    for element in elements:
        below = [str(kid.kind) for kid in element.kids]
        above = element.parent.kind if element.parent else None
        if element.kind in KIDS:
            rule, pattern = KIDS[element.kind]
            held = re.fullmatch(pattern, "".join(f"{kid} " for kid in below)) and not element.marks
            found.need(held, rule, f"{element} holds {below} and {len(element.marks)} pieces of content")
        if element.kind in PARENTS:
            rule, wanted = PARENTS[element.kind]
            found.need(above in wanted, rule, f"{element}: {element.kind} in {above}")
        if element.kind == "Table":
            table(found, element, below, identifiers)
        if element.kind == "L":
            numbering(found, element)


def table(found, element, below, identifiers):
    for kind, rule in (("THead", "UA 7.2-11"), ("TFoot", "UA 7.2-12"), ("Caption", "UA 7.2-39")):
        found.need(below.count(kind) <= 1, rule, f"{element} holds several {kind}")
    found.need("Caption" not in below[1:-1], "UA 7.2-16", f"{element}: its Caption is neither first nor last")
    for kind, rule in (("TFoot", "UA 7.2-13"), ("THead", "UA 7.2-14")):
        found.need(kind not in below or "TBody" in below, rule, f"{element}: {kind} without TBody")
    parts = [kid.kids if kid.kind in ("THead", "TBody", "TFoot") else [kid] for kid in element.kids if kid.kind != "Caption"]
    rows = [row for part in parts for row in part if row.kind == "TR"]
    found.need(rows, "tree", f"{element} has no row")
    grid(found, element, rows)
    headers = [cell for row in rows for cell in row.kids if cell.kind == "TH"]
    found.need(headers, "tables", f"{element} has no header cell")
    for cell in headers:
        scope = cell.attributes("Table").get("/Scope")
        found.need(scope is not None, "UA 7.5-1", f"{cell}: no Scope")
    for row in rows:
        for cell in row.kids:
            unknown = [str(name) for name in cell.attributes("Table").get("/Headers", []) if str(name) not in identifiers]
            found.need(not unknown, "UA 7.5-2", f"{cell}: Headers {unknown} are nowhere")


def span(found, cell, key):
    given = cell.attributes("Table").get(key, 1)
    held = isinstance(given, int) and given >= 1
    return given if found.need(held, "attributes", f"{cell}: {key} {given}") else 1


def grid(found, element, rows):
    """Every place of the grid is taken once, and all rows are as long."""
    taken = {}
    for at, row in enumerate(rows):
        column = 0
        for cell in row.kids:
            while (at, column) in taken:
                column += 1
            wide, high = span(found, cell, "/ColSpan"), span(found, cell, "/RowSpan")
            for place in [(at + down, column + right) for down in range(high) for right in range(wide)]:
                found.need(place not in taken, "UA 7.2-15", f"{cell} lies over another cell")
                taken[place] = cell
            column += wide
    below = max((place[0] for place in taken), default=0)
    found.need(below < len(rows), "UA 7.2-41", f"{element}: a cell reaches below the last row")
    lengths = [sum(1 for place in taken if place[0] == at) for at in range(len(rows))]
    found.need(len(set(lengths)) <= 1, "UA 7.2-42, UA 7.2-43", f"{element}: rows of {lengths} cells")


def numbering(found, element):
    """Items have a body, after a label or not; numbered items have labels (Matterhorn Protocol 1.1, checkpoint 16)."""
    said = element.attributes("List").get("/ListNumbering", "/None")
    numbered = str(said) in ("/Decimal", "/UpperRoman", "/LowerRoman", "/UpperAlpha", "/LowerAlpha")
    for item in element.kids:
        kinds = [part.kind for part in item.kids]
        held = item.kind != "LI" or kinds == ["Lbl", "LBody"] or kinds == ["LBody"] and not numbered
        found.need(held, "tables", f"{item} holds {kinds} in a list numbered {said}")
