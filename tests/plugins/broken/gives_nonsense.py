from inkaccord.plugin import hookimpl


@hookimpl
def inkaccord_vendor_kinds():
    return ["a kind"]


@hookimpl
def inkaccord_check_artwork(subject):
    return 7


@hookimpl
def inkaccord_deliver(run):
    return [b"bytes"]
