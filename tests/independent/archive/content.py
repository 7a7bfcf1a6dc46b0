"""Content streams: operators, nesting, marked content, colours, what text shows (ISO 32000-1, 7.8, 8, 9.4, 14.6)."""

from pikepdf import Array, Dictionary, Name

from .document import LANGUAGE
from .graphics import Graphics
from .lexer import Lexer
from .lexer import Name as Word
from .lexer import Operator

# Operands: n number, / name, s string, a array, p name or dictionary; * any number of numbers and a last name.
OPERATORS = {
    **dict.fromkeys(("q", "Q", "h", "S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n", "W", "W*"), ""),
    **dict.fromkeys(("BT", "ET", "T*", "EMC"), ""),
    **dict.fromkeys(("w", "J", "j", "M", "i", "Tc", "Tw", "Tz", "TL", "Tr", "Ts", "G", "g"), "n"),
    **dict.fromkeys(("m", "l", "Td", "TD"), "nn"), **dict.fromkeys(("re", "v", "y", "K", "k"), "nnnn"),
    **dict.fromkeys(("c", "cm", "Tm"), "nnnnnn"), **dict.fromkeys(("RG", "rg"), "nnn"),
    **dict.fromkeys(("ri", "gs", "CS", "cs", "sh", "Do", "MP", "BMC"), "/"),
    **dict.fromkeys(("SC", "SCN", "sc", "scn"), "*"), **dict.fromkeys(("Tj", "'"), "s"),
    "d": "an", "Tf": "/n", "TJ": "a", '"': "nns", "DP": "/p", "BDC": "/p",
}
PAINTS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "sh", "Do", "Tj", "TJ", "'", '"'}
PATHS = {"m", "l", "c", "v", "y", "re", "h"}
ENDS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"}
TEXT_ONLY = {"Td", "TD", "Tm", "T*", "Tj", "TJ", "'", '"', "ET"}
NOT_IN_TEXT = {"q", "Q", "cm", "Do", "sh", "BT"} | PATHS | ENDS
ARTIFACTS = {"Pagination", "Layout", "Page", "Background"}


def check(found, pdf, state):
    state["marks"], state["shown"] = {}, []
    graphics = Graphics(found, state)
    for number, page in enumerate(pdf.pages, 1):
        key = page.obj.objgen
        state["marks"][key] = {}
        streams = page.obj.get("/Contents")
        streams = list(streams) if isinstance(streams, Array) else [streams]
        data = b"\n".join(stream.read_bytes() for stream in streams)
        reader = Content(found, state, graphics, page.obj.get("/Resources", Dictionary()), f"page {number}", key)
        reader.read(data)
        graphics.page(page.obj, f"page {number}")


class Content:
    """One content stream; forms are read within the marks they are called in."""

    def __init__(self, found, state, graphics, resources, where, page, marks=(), depth=0):
        self.found, self.state, self.graphics, self.resources = found, state, graphics, resources
        self.where, self.page, self.depth = where, page, depth
        self.marks, self.outer = list(marks), len(marks)  # of (tag, properties)
        self.saved, self.text, self.path = [], None, False
        self.now = {"font": None, "mode": 0, "fill": Name.DeviceGray, "stroke": Name.DeviceGray}

    def read(self, data):
        lexer = Lexer(self.found, data, 0, self.where)
        operands = []
        while (token := lexer.token()) is not None:
            value = lexer.value(token)
            if not isinstance(value, Operator):
                operands.append(value)
                continue
            if value in ("BI", "ID", "EI"):
                self.found.fail("only-known", f"{self.where}: inline image")
                return
            self.operator(str(value), operands)
            operands = []
        self.need(not operands, "A 6.2.2-1", f"operands without operator at the end: {operands}")
        self.need(not self.saved, "balanced", f"{len(self.saved)} q without Q")
        self.need(self.text is None, "balanced", "BT without ET")
        self.need(len(self.marks) == self.outer, "balanced", f"{len(self.marks) - self.outer} marks without EMC")

    def need(self, held, rules, what):
        return self.found.need(held, rules, f"{self.where}: {what}")

    def operator(self, name, operands):
        signature = OPERATORS.get(name)
        if not self.need(signature is not None, "A 6.2.2-1", f"operator {name}"):
            return
        if not fits(signature, operands):
            self.need(False, "A 6.2.2-1", f"operands of {name}: {operands}")
            return
        inside = self.text is not None
        self.need(not inside or name not in NOT_IN_TEXT, "balanced", f"{name} inside a text object")
        self.need(inside or name not in TEXT_ONLY, "balanced", f"{name} outside a text object")
        self.need(not self.path or name in PATHS | ENDS | {"W", "W*"}, "balanced", f"{name} inside a path")
        self.path = name in PATHS or self.path and name not in ENDS
        if name in PAINTS:
            self.mark_of(name)
        method = getattr(self, f"do_{name}", None)
        if method:
            method(*operands)
        elif name in ("rg", "g", "k", "RG", "G", "K"):
            space = {"g": "/DeviceGray", "rg": "/DeviceRGB", "k": "/DeviceCMYK"}[name.lower()]
            self.graphics.device(space, self.where)
            self.now["fill" if name.islower() else "stroke"] = Name(space)
        elif name in ("sc", "scn", "SC", "SCN"):
            self.colour("fill" if name.islower() else "stroke", operands)
        elif name in ("Tj", "'", "TJ", '"'):
            self.show(operands[-1])

    def mark_of(self, name):
        """A painting operator is content of the structure or an artifact."""
        tags = [tag for tag, _ in self.marks]
        numbers = [properties["MCID"] for _, properties in self.marks if "MCID" in properties]
        self.need(numbers or "Artifact" in tags, "UA 7.1-3", f"{name} is neither tagged nor an artifact")
        if numbers:
            self.state["marks"][self.page].setdefault(numbers[-1], {"count": 0, "paints": 0})["paints"] += 1

    def resource(self, kind, name):
        thing = self.resources.get(f"/{kind}", {}).get(f"/{name}")
        self.need(thing is not None, "resources", f"{kind} {name} is not in Resources")
        return thing

    def do_q(self):
        self.saved.append(dict(self.now))
        self.need(self.depth + len(self.saved) <= 28, "A 6.1.13-8", f"{self.depth + len(self.saved)} q within each other")

    def do_Q(self):
        if self.need(self.saved, "balanced", "Q without q"):
            self.now = self.saved.pop()

    def do_BT(self):
        self.text = len(self.marks)

    def do_ET(self):
        self.need(self.text == len(self.marks), "balanced", "a mark begun in a text object ends after it, or the reverse")
        self.text = None

    def do_BMC(self, tag):
        self.do_BDC(tag, {})

    def do_BDC(self, tag, properties):
        if isinstance(properties, Word):
            self.need(False, "only-known", f"properties of a mark in Resources: {tag}")
            properties = {}
        tags = [outer for outer, _ in self.marks]
        tagged = any("MCID" in outer for _, outer in self.marks)
        if tag == "Artifact":
            self.need(not tagged, "UA 7.1-1", "an artifact inside tagged content")
            self.need("MCID" not in properties, "UA 7.1-1", "an artifact with MCID")
            kind = properties.get("Type")
            self.need(kind is None or kind in ARTIFACTS, "marks", f"artifact of type {kind}")
        if "MCID" in properties:
            self.need("Artifact" not in tags, "UA 7.1-2", "tagged content inside an artifact")
            self.need(not tagged, "marks", f"MCID {properties['MCID']} inside tagged content")
            self.need(self.depth == 0, "only-known", "MCID inside a form")
            marks = self.state["marks"][self.page].setdefault(properties["MCID"], {"count": 0, "paints": 0})
            marks["count"] += 1
        elif "Artifact" in tags:
            self.need(tag in ("Artifact", "Span"), "UA 7.1-2", f"{tag} inside an artifact")
        if "Lang" in properties:
            said = text(properties["Lang"])
            self.need(LANGUAGE.fullmatch(said), "A 6.7.4-1, UA 7.2-29", f"mark {tag}: Lang {said!r} is no language tag")
        self.marks.append((str(tag), properties))

    def do_EMC(self):
        if self.need(len(self.marks) > self.outer, "balanced", "EMC without BDC or BMC"):
            self.marks.pop()

    def do_DP(self, tag, properties):
        self.need(False, "only-known", f"marked point {tag}")

    def do_MP(self, tag):
        self.do_DP(tag, {})

    def do_ri(self, intent):
        self.graphics.intent(f"/{intent}", self.where)

    def do_gs(self, name):
        state = self.resource("ExtGState", name)
        if state is not None:
            self.graphics.state(state, self.where)

    def do_cs(self, name):
        self.now["fill"] = self.chosen(name)

    def do_CS(self, name):
        self.now["stroke"] = self.chosen(name)

    def chosen(self, name):
        self.graphics.space(Name(f"/{name}"), self.resources, self.where)
        return Name(f"/{name}")

    def colour(self, use, operands):
        components = self.graphics.space(self.now[use], self.resources, self.where)
        if components == 0:
            if self.need(operands and isinstance(operands[-1], Word), "opens", "pattern without a name"):
                pattern = self.resource("Pattern", operands[-1])
                if pattern is not None:
                    self.graphics.pattern(pattern, self.resources, self.where)
            return
        self.need(len(operands) == components, "opens", f"{len(operands)} components for {self.now[use]}")

    def do_sh(self, name):
        shading = self.resource("Shading", name)
        if shading is not None:
            self.graphics.shading(shading, self.resources, self.where)

    def do_Do(self, name):
        thing = self.resource("XObject", name)
        if thing is None:
            return
        kind = thing.get("/Subtype")
        if kind == Name.Image:
            self.graphics.image(thing, self.resources, self.where)
        elif self.need(kind == Name.Form, "A 6.2.9-3", f"XObject {kind}") and self.depth < 28:
            self.graphics.form(thing, f"{self.where}, form {name}")
            inner = Content(
                self.found, self.state, self.graphics, thing.get("/Resources", Dictionary()),
                f"{self.where}, form {name}", self.page, self.marks, self.depth + len(self.saved) + 1,
            )
            inner.read(thing.read_bytes())

    def do_Tf(self, name, size):
        self.now["font"] = self.resource("Font", name)

    def do_Tr(self, mode):
        self.now["mode"] = mode

    def show(self, shown):
        font = self.now["font"]
        if not self.need(font is not None, "balanced", "text without a font"):
            return
        parts = shown if isinstance(shown, list) else [shown]
        replaced = any("ActualText" in properties for _, properties in self.marks)
        numbers = [properties["MCID"] for _, properties in self.marks if "MCID" in properties]
        mark = (self.page, numbers[-1]) if numbers else None
        for part in parts:
            if not isinstance(part, bytes):
                self.need(is_number(part), "A 6.2.2-1", f"TJ with {part!r}")
                continue
            self.need(len(part) % 2 == 0, "opens", f"string of {len(part)} bytes in a font of two-byte codes")
            codes = [part[at] << 8 | part[at + 1] for at in range(0, len(part) - 1, 2)]
            self.state["shown"].append((font, codes, self.now["mode"], replaced, mark, self.where))


def fits(signature, operands):
    if signature == "*":
        plain = operands[:-1] if operands and isinstance(operands[-1], Word) else operands
        return bool(operands) and all(is_number(value) for value in plain)
    kinds = {
        "n": is_number, "/": lambda value: isinstance(value, Word), "s": lambda value: isinstance(value, bytes),
        "a": lambda value: isinstance(value, list), "p": lambda value: isinstance(value, (Word, dict)),
    }
    return len(signature) == len(operands) and all(kinds[kind](value) for kind, value in zip(signature, operands))


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def text(raw):
    """A text string of PDF (7.9.2.2)."""
    if raw.startswith(b"\xfe\xff"):
        return raw[2:].decode("utf-16-be", "replace")
    return raw.decode("latin-1")
