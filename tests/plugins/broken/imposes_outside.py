from inkaccord.plugin import Imposed, OutFile, hookimpl


@hookimpl
def inkaccord_impose(order):
    return Imposed(files=(OutFile("../../escaped.pdf", b"x", "print"),))
