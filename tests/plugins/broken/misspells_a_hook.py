from inkaccord.hooks import hookimpl


@hookimpl
def inkaccord_vendor_kindz():
    return []
