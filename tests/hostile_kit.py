"""Small files that ask for years of work, gigabytes or endless recursion."""

import io
import zlib
from collections.abc import Callable
from decimal import Decimal

import pikepdf
from isal import isal_zlib
from pikepdf import Array, Dictionary, Name, Pdf

PAINT = b"0.85 0.2 0.6 0.3 k "
SQUARE = PAINT + b"0 0 9 9 re f "


def one_page(content: bytes, setup: Callable[[Pdf], Dictionary] | None = None) -> bytes:
    """Return a file with one page of 200 by 200 points."""
    pdf = Pdf.new()
    page = pdf.add_blank_page(page_size=(200, 200))
    page.obj.Contents = pdf.make_stream(content)
    page.obj.Resources = setup(pdf) if setup else Dictionary()
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def fan(levels: int) -> bytes:
    """Forms that each call the next one twice."""

    def setup(pdf: Pdf) -> Dictionary:
        inner = form(pdf, SQUARE, Dictionary())
        for _ in range(levels):
            inner = form(pdf, b"/F Do /F Do", Dictionary(XObject=Dictionary(F=inner)))
        return Dictionary(XObject=Dictionary(F=inner))

    return one_page(b"/F Do", setup)


def chain(levels: int) -> bytes:
    """Forms inside each other, each called once."""

    def setup(pdf: Pdf) -> Dictionary:
        inner = form(pdf, SQUARE, Dictionary())
        for _ in range(levels):
            inner = form(pdf, b"/F Do", Dictionary(XObject=Dictionary(F=inner)))
        return Dictionary(XObject=Dictionary(F=inner))

    return one_page(b"/F Do", setup)


def form(pdf: Pdf, content: bytes, resources: Dictionary) -> pikepdf.Stream:
    """Return a form XObject."""
    made = pdf.make_stream(content)
    made.Type, made.Subtype = Name.XObject, Name.Form
    made.BBox, made.Resources = Array([0, 0, 200, 200]), resources
    return made


def form_in_itself() -> bytes:
    """A form that calls itself."""

    def setup(pdf: Pdf) -> Dictionary:
        made = form(pdf, SQUARE + b"/F Do", Dictionary())
        made.Resources = Dictionary(XObject=Dictionary(F=made))
        return Dictionary(XObject=Dictionary(F=made))

    return one_page(SQUARE + b"/F Do", setup)


def tiling(step: str) -> bytes:
    """A pattern with steps as wide as said."""

    def setup(pdf: Pdf) -> Dictionary:
        cell = pdf.make_stream(PAINT + b"0 0 1 1 re f")
        cell.Type, cell.PatternType, cell.PaintType, cell.TilingType = Name.Pattern, 1, 1, 1
        cell.BBox, cell.Resources = Array([0, 0, 1, 1]), Dictionary()
        cell.XStep = cell.YStep = pikepdf.Object.parse(step.encode())
        return Dictionary(Pattern=Dictionary(P=cell))

    return one_page(b"/Pattern cs /P scn 0 0 200 200 re f", setup)


def membership_of_itself() -> bytes:
    """A layer membership that holds itself, and whose expression holds itself."""

    def setup(pdf: Pdf) -> Dictionary:
        layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Lanterns"))
        pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(Order=Array([layer])))
        membership = pdf.make_indirect(Dictionary(Type=Name.OCMD))
        expression = pdf.make_indirect(Array([Name.And]))
        expression.append(expression)
        membership.OCGs, membership.VE = Array([membership]), expression
        return Dictionary(Properties=Dictionary(A=membership))

    return one_page(b"/OC /A BDC " + SQUARE + b"EMC", setup)


def packed_twice() -> bytes:
    """Contents of a few KiB that unpack to 300 MB."""
    pdf = pikepdf.open(io.BytesIO(one_page(b"")))
    once = bytes(isal_zlib.compress(bytes(300 << 20)))
    contents = pdf.make_stream(b"")
    both = Array([Name.FlateDecode, Name.FlateDecode])
    contents.write(zlib.compress(once, 9), filter=both)
    pdf.pages[0].obj.Contents = contents
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def contents_many_times() -> bytes:
    """One stream of 1 MB that the page names a thousand times."""
    pdf = pikepdf.open(io.BytesIO(one_page(SQUARE + b" " * (1 << 20))))
    page = pdf.pages[0].obj
    page.Contents = Array([page.Contents] * 1000)
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def huge_picture(side: int) -> bytes:
    """A picture of so many pixels a side, nearly empty."""

    def setup(pdf: Pdf) -> Dictionary:
        picture = pdf.make_stream(b"")
        picture.write(zlib.compress(b"\x80" * 1000), filter=Name.FlateDecode)
        picture.Type, picture.Subtype, picture.ColorSpace = (
            Name.XObject, Name.Image, Name.DeviceGray,
        )  # fmt: skip
        picture.Width = picture.Height = side
        picture.BitsPerComponent = 8
        return Dictionary(XObject=Dictionary(I=picture))

    return one_page(SQUARE + b"200 0 0 200 0 0 cm /I Do", setup)


def shadings(count: int) -> bytes:
    """A page with many gradients."""

    def setup(pdf: Pdf) -> Dictionary:
        full, bare = pikepdf.Object.parse(b"[0.85 0.2 0.6 0.3]"), Array([0, 0, 0, 0])
        ramp = Dictionary(FunctionType=2, Domain=Array([0, 1]), N=1, C0=full, C1=bare)
        across = Array([0, 0, 200, 0])
        one = Dictionary(ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=across, Function=ramp)
        return Dictionary(
            Shading=Dictionary({f"/S{at}": pdf.make_indirect(one) for at in range(count)})
        )

    painted = (b"q %d 0 1 200 re W n /S%d sh Q " % (at % 200, at) for at in range(count))
    return one_page(b"".join(painted), setup)


def computed(count: int, words: int) -> bytes:
    """A page with many gradients that share one calculator of many words."""

    def setup(pdf: Pdf) -> Dictionary:
        calculator = pdf.make_stream(b"{ dup dup dup " + b"dup mul " * (words // 2) + b"}")
        calculator.FunctionType, calculator.Domain = 4, Array([0, 1])
        calculator.Range = Array([0, 1] * 4)
        across = Array([0, 0, 200, 0])
        return Dictionary(
            Shading=Dictionary(
                {
                    f"/S{at}": Dictionary(
                        ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=across,
                        Function=calculator,
                    )
                    for at in range(count)
                }
            )
        )  # fmt: skip

    return one_page(PAINT + SQUARE + b"".join(b"/S%d sh " % at for at in range(count)), setup)


def tabled(side: int) -> bytes:
    """A page with a gradient of two directions as a table."""

    def setup(pdf: Pdf) -> Dictionary:
        table = pdf.make_stream(bytes(4 * side * side))
        table.FunctionType, table.Domain, table.BitsPerSample = 0, Array([0, 1, 0, 1]), 8
        table.Range, table.Size = Array([0, 1] * 4), Array([side, side])
        field = Dictionary(ShadingType=1, ColorSpace=Name.DeviceCMYK, Function=table)
        return Dictionary(Shading=Dictionary(S=field))

    return one_page(PAINT + SQUARE + b"/S sh ", setup)


def mesh(corners: int) -> bytes:
    """A page with a mesh of many corners."""

    def setup(pdf: Pdf) -> Dictionary:
        net = pdf.make_stream(bytes(6 * corners))
        net.ShadingType, net.ColorSpace, net.VerticesPerRow = 5, Name.DeviceCMYK, 100
        net.BitsPerCoordinate = net.BitsPerComponent = 8
        net.Decode = Array([0, 100] * 2 + [0, 1] * 4)
        return Dictionary(Shading=Dictionary(S=net))

    return one_page(PAINT + SQUARE + b"/S sh ", setup)


def _fanned_function(pdf: Pdf, levels: int, inks: int) -> pikepdf.Object:
    """Return a function of two parts, each of two parts, and so on."""
    ends = {"C0": Array([0] * inks), "C1": Array([1] * inks)}
    part = pdf.make_indirect(Dictionary(FunctionType=2, Domain=Array([0, 1]), N=1, **ends))
    for _ in range(levels):
        both = Dictionary(FunctionType=3, Domain=Array([0, 1]), Functions=Array([part, part]))
        both.Bounds, both.Encode = Array([Decimal("0.5")]), Array([0, 1, 0, 1])
        part = pdf.make_indirect(both)
    return part


def parts_fanned(levels: int) -> bytes:
    """A page with a gradient of two parts, each of two parts, and so on."""

    def setup(pdf: Pdf) -> Dictionary:
        across = Array([0, 0, 200, 0])
        one = Dictionary(ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=across)
        one.Function = _fanned_function(pdf, levels, 4)
        return Dictionary(Shading=Dictionary(S=one))

    return one_page(PAINT + SQUARE + b"/S sh ", setup)


def tint_fanned(levels: int) -> bytes:
    """A page in a spot whose tints are told by such a function."""

    def setup(pdf: Pdf) -> Dictionary:
        look = _fanned_function(pdf, levels, 4)
        spot = Array([Name.Separation, Name.Kelp, Name.DeviceCMYK, look])
        return Dictionary(ColorSpace=Dictionary(K=spot))

    return one_page(SQUARE + b"/K cs 1 scn 9 9 9 9 re f", setup)


def transfer_fanned(levels: int) -> bytes:
    """A page printed through a transfer function of that kind."""

    def setup(pdf: Pdf) -> Dictionary:
        state = Dictionary(TR=_fanned_function(pdf, levels, 1))
        return Dictionary(ExtGState=Dictionary(G=state))

    return one_page(b"/G gs " + SQUARE, setup)


def _fanned_tree(pdf: Pdf, leaf: Dictionary, levels: int) -> pikepdf.Object:
    branch = pdf.make_indirect(leaf)
    for _ in range(levels):
        branch = pdf.make_indirect(Dictionary(Kids=Array([branch, branch])))
    return branch


def fields_fanned(levels: int) -> bytes:
    """A form whose fields each hold the next one twice."""

    def setup(pdf: Pdf) -> Dictionary:
        leaf = Dictionary(FT=Name.Tx, T="lantern")
        pdf.Root.AcroForm = Dictionary(Fields=Array([_fanned_tree(pdf, leaf, levels)]))
        return Dictionary()

    return one_page(SQUARE, setup)


def labels_fanned(levels: int) -> bytes:
    """Labels of pages in a tree of numbers whose branches are shared."""

    def setup(pdf: Pdf) -> Dictionary:
        leaf = Dictionary(Nums=Array([0, Dictionary(S=Name.D)]))
        pdf.Root.PageLabels = _fanned_tree(pdf, leaf, levels)
        return Dictionary()

    return one_page(SQUARE, setup)


def conditions_fanned(levels: int) -> bytes:
    """A layer that shows by an expression whose parts each name the next one twice."""

    def setup(pdf: Pdf) -> Dictionary:
        layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Lanterns"))
        pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(Order=Array([layer])))
        part = pdf.make_indirect(Array([Name.Not, layer]))
        for _ in range(levels):
            part = pdf.make_indirect(Array([Name.And, part, part]))
        membership = pdf.make_indirect(Dictionary(Type=Name.OCMD, OCGs=Array([layer]), VE=part))
        return Dictionary(Properties=Dictionary(A=membership))

    return one_page(b"/OC /A BDC " + SQUARE + b"EMC", setup)


def fields_in_a_row(count: int) -> bytes:
    """A form of many fields, each of its own."""

    def setup(pdf: Pdf) -> Dictionary:
        fields = [pdf.make_indirect(Dictionary(FT=Name.Tx, T=f"{at}")) for at in range(count)]
        whole = pdf.make_indirect(Dictionary(T="guests", Kids=Array(fields)))
        pdf.Root.AcroForm = Dictionary(Fields=Array([whole]))
        return Dictionary()

    return one_page(SQUARE, setup)


HOSTILE: dict[str, Callable[[], bytes]] = {
    "forms fanned 2^16": lambda: fan(16),
    "forms fanned 2^40": lambda: fan(40),
    "forms 200 deep": lambda: chain(200),
    "a step of 10^-6": lambda: tiling("0.000001"),
    "rectangles of 20 MB": lambda: one_page(PAINT + b"0 0 9 9 re f " * 1_600_000),
    "a path of 2 million points": lambda: one_page(PAINT + b"0 0 m " + b"1 1 l " * 2_000_000),
    "5 million numbers": lambda: one_page(PAINT + b"1 " * 5_000_000 + b"re f"),
    "100,000 states left open": lambda: one_page(PAINT + b"0 0 9 9 re f " + b"q " * 100_000),
    "1,500 states inside each other": lambda: one_page(
        PAINT + b"q " * 1_500 + b"0 0 9 9 re f " + b"Q " * 1_500
    ),
    "zeros packed twice": packed_twice,
    "contents named a thousand times": contents_many_times,
    "a picture of 1.6 billion pixels": lambda: huge_picture(40_000),
    "a long calculator in 20 gradients": lambda: computed(20, 4_900),
    "a gradient of 250,000 samples": lambda: tabled(500),
    "a gradient of 2^20 parts": lambda: parts_fanned(20),
    "a tint of 2^40 parts": lambda: tint_fanned(40),
    "a transfer function of 2^14 parts": lambda: transfer_fanned(14),
    "fields fanned 2^40": lambda: fields_fanned(40),
    "labels of pages fanned 2^40": lambda: labels_fanned(40),
    "a layer's conditions fanned 2^40": lambda: conditions_fanned(40),
    "fields 300 deep, each named once more": lambda: fields_fanned(300),
    "a mesh of 100,000 corners": lambda: mesh(100_000),
}
"""What is refused, by its name."""
HARMLESS: dict[str, Callable[[], bytes]] = {
    "a form that calls itself": form_in_itself,
    "a membership of itself": membership_of_itself,
    "a form of 5,000 fields": lambda: fields_in_a_row(5_000),
    "conditions fanned 2^8": lambda: conditions_fanned(8),
    "a tint of 2^8 parts": lambda: tint_fanned(8),
    "a fine pattern": lambda: tiling("0.5"),
    "forms fanned 2^8": lambda: fan(8),
    "20,000 states one after the other": lambda: one_page(
        PAINT + b"q 1 0 0 1 0 0 cm Q " * 20_000 + b"BT (q q q) Tj ET 0 0 9 9 re f"
    ),
}
"""What looks alike and is read."""
