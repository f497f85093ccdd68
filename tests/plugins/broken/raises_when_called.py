from inkaccord.plugin import hookimpl


@hookimpl
def inkaccord_vendor_kinds():
    raise ZeroDivisionError("divided a printer by nothing")


@hookimpl
def inkaccord_check_artwork(subject):
    raise KeyError("what")


@hookimpl
def inkaccord_deliver(run):
    raise SystemExit("no such folder")
