from inkaccord.hooks import hookimpl
from inkaccord.models import Frozen
from inkaccord.order.kinds import VendorKind


class Options(Frozen):
    """None."""


@hookimpl
def inkaccord_vendor_kinds():
    return [VendorKind(name="desk-cmyk", options=Options, profile=lambda name, options: None)]
