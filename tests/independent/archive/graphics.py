"""Colour, images, forms and graphics states (ISO 19005-3, 6.2)."""

from pikepdf import Array, Name, Stream

from .document import icc

BLENDS = {
    "/Normal", "/Compatible", "/Multiply", "/Screen", "/Overlay", "/Darken", "/Lighten", "/ColorDodge", "/ColorBurn",
    "/HardLight", "/SoftLight", "/Difference", "/Exclusion", "/Hue", "/Saturation", "/Color", "/Luminosity",
}
INTENTS = {"/RelativeColorimetric", "/AbsoluteColorimetric", "/Perceptual", "/Saturation"}
COMPONENTS = {"/DeviceGray": 1, "/DeviceRGB": 3, "/DeviceCMYK": 4}
IMAGE = {
    "/Type", "/Subtype", "/Width", "/Height", "/ColorSpace", "/BitsPerComponent", "/Filter", "/DecodeParms", "/Length",
    "/SMask", "/Mask", "/ImageMask", "/Decode", "/Intent", "/Interpolate", "/StructParent",
}
STATE = {"/Type", "/LW", "/LC", "/LJ", "/ML", "/D", "/RI", "/OP", "/op", "/OPM", "/BM", "/CA", "/ca", "/SMask", "/AIS", "/SA", "/TK"}
FORM = {"/Type", "/Subtype", "/FormType", "/BBox", "/Matrix", "/Resources", "/Group", "/Filter", "/DecodeParms", "/Length"}


class Graphics:
    """Checks each thing that content uses, once."""

    def __init__(self, found, state):
        self.found, self.output, self.done = found, state["intent"], set()
        self.transparent = False

    def device(self, space, where):
        """A device colour space is covered by the output intent."""
        held = self.output is not None
        if space == "/DeviceRGB":
            self.found.need(held and self.output == "RGB ", "A 6.2.4.3-2", f"{where}: DeviceRGB without an RGB output intent")
        elif space == "/DeviceCMYK":
            self.found.need(held and self.output == "CMYK", "A 6.2.4.3-3", f"{where}: DeviceCMYK without a CMYK output intent")
        else:
            self.found.need(held, "A 6.2.4.3-4", f"{where}: DeviceGray without an output intent")

    def space(self, space, resources, where):
        """Components of a colour space; 0 for a pattern."""
        if isinstance(space, Name) and str(space) not in (*COMPONENTS, "/Pattern"):
            named = resources.get("/ColorSpace", {}).get(str(space))
            if not self.found.need(named is not None, "resources", f"{where}: colour space {space} is not there"):
                return 1
            return self.space(named, resources, where)
        if isinstance(space, Name):
            if space == Name.Pattern:
                return 0
            self.device(str(space), where)
            return COMPONENTS[str(space)]
        kind = space[0]
        if kind == Name.ICCBased:
            profile = space[1]
            if profile.objgen not in self.done:
                self.done.add(profile.objgen)
                icc(self.found, profile, "A 6.2.4.2-1", (b"prtr", b"mntr", b"scnr", b"spac"), where)
            self.found.need(profile.N in (1, 3), "only-known", f"{where}: ICCBased of {profile.N} components")
            return int(profile.N)
        if kind == Name.Indexed:
            components = self.space(space[1], resources, where)
            table = space[3].read_bytes() if isinstance(space[3], Stream) else bytes(space[3])
            held = len(table) >= components * (int(space[2]) + 1)
            self.found.need(held, "opens", f"{where}: palette of {len(table)} bytes for {space[2]} + 1 colours")
            return 1
        self.found.fail("only-known", f"{where}: colour space {kind}")
        return 1

    def intent(self, intent, where):
        self.found.need(str(intent) in INTENTS, "A 6.2.6-1", f"{where}: rendering intent {intent}")

    def image(self, image, resources, where, mask=False):
        if image.objgen in self.done:
            return
        self.done.add(image.objgen)
        where = f"{where}: image {image.objgen[0]}"
        for key in sorted(set(image.keys()) - IMAGE):
            rule = {"/Alternates": "A 6.2.8-1", "/OPI": "A 6.2.8-2"}.get(key, "only-known")
            self.found.fail(rule, f"{where}: {key}")
        self.found.need(image.get("/Interpolate", False) is False, "A 6.2.8-3", f"{where}: Interpolate is true")
        if "/Intent" in image:
            self.intent(image.Intent, where)
        stencil = image.get("/ImageMask", False)
        bits = image.get("/BitsPerComponent", 1 if stencil else None)
        self.found.need(bits in (1, 2, 4, 8, 16), "A 6.2.8-4", f"{where}: BitsPerComponent {bits}")
        self.found.need(not stencil or bits == 1, "A 6.2.8-5", f"{where}: stencil of {bits} bits")
        components = 1 if stencil else self.space(image.ColorSpace, resources, where)
        if image.get("/Filter") != Name.DCTDecode:
            rows = (int(image.Width) * components * int(bits or 8) + 7) // 8
            size = len(image.read_bytes())
            self.found.need(size == rows * int(image.Height), "opens", f"{where}: {size} bytes of {rows} x {image.Height}")
        if mask:
            self.found.need(image.ColorSpace == Name.DeviceGray, "opens", f"{where}: soft mask that is not grey")
            self.found.need("/SMask" not in image, "opens", f"{where}: soft mask of a soft mask")
        if "/SMask" in image:
            self.transparent = True
            self.image(image.SMask, resources, where, mask=True)
        if isinstance(image.get("/Mask"), Stream):
            self.image(image.Mask, resources, where)

    def state(self, state, where):
        for key in sorted(set(state.keys()) - STATE):
            rule = {"/TR": "A 6.2.5-1", "/TR2": "A 6.2.5-2", "/HTP": "A 6.2.5-3"}.get(key, "only-known")
            if not (key == "/TR2" and state.TR2 == Name.Default):
                self.found.fail(rule, f"{where}: graphics state with {key}")
        if "/RI" in state:
            self.intent(state.RI, where)
        blend = state.get("/BM", Name.Normal)
        blends = list(blend) if isinstance(blend, Array) else [blend]
        self.found.need(all(str(kind) in BLENDS for kind in blends), "A 6.2.10-1", f"{where}: blend mode {blend}")
        self.found.need(state.get("/SMask", Name("/None")) == Name("/None"), "only-known", f"{where}: soft mask in a graphics state")
        opacity = [float(state.get(key, 1)) for key in ("/CA", "/ca")]
        self.found.need(all(0 <= part <= 1 for part in opacity), "opens", f"{where}: opacity {opacity}")
        self.transparent |= min(opacity) < 1 or any(kind not in ("/Normal", "/Compatible") for kind in map(str, blends))

    def form(self, form, where):
        for key in sorted(set(form.keys()) - FORM):
            rule = {"/OPI": "A 6.2.9-1", "/PS": "A 6.2.9-1", "/Subtype2": "A 6.2.9-1", "/Ref": "A 6.2.9-2, UA 7.20-1"}
            self.found.fail(rule.get(key, "only-known"), f"{where}: form with {key}")
        self.found.need("/Resources" in form, "A 6.2.2-2", f"{where}: form without Resources")
        if "/Group" in form:
            self.group(form.Group, where)
            self.transparent = True

    def group(self, group, where):
        self.found.need(group.get("/S") == Name.Transparency, "only-known", f"{where}: group {group.get('/S')}")
        if "/CS" in group:
            self.space(group.CS, {}, where)

    def pattern(self, pattern, resources, where):
        held = pattern.get("/PatternType") == 2
        if self.found.need(held, "only-known", f"{where}: pattern of type {pattern.get('/PatternType')}"):
            self.shading(pattern.Shading, resources, where)

    def shading(self, shading, resources, where):
        kind = shading.get("/ShadingType")
        self.found.need(kind in (2, 3), "only-known", f"{where}: shading of type {kind}")
        self.space(shading.ColorSpace, resources, where)

    def page(self, page, where):
        """At the end of a page: a blending colour space where it is transparent (6.2.10)."""
        if "/Group" in page:
            self.group(page.Group, where)
        named = "/CS" in page.get("/Group", {})
        held = not self.transparent or self.output is not None or named
        self.found.need(held, "A 6.2.10-2", f"{where}: transparent without a blending colour space")
        self.found.need(not self.transparent or named, "blending", f"{where}: transparent, but its Group names no colour space")
        self.transparent = False
