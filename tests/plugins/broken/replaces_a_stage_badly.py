from inkaccord.plugin import hookimpl


@hookimpl
def inkaccord_agree(order):
    return "all agree"
