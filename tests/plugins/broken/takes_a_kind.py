from inkaccord.plugin import Frozen, VendorKind, hookimpl


class Options(Frozen):
    """None."""


@hookimpl
def inkaccord_vendor_kinds():
    return [VendorKind(name="desk-cmyk", options=Options, profile=lambda name, options: None)]
