from inkaccord.plugin import hookimpl


@hookimpl
def inkaccord_vendor_kindz():
    return []
