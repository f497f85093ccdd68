from inkaccord.hooks import hookimpl
from inkaccord.run.files import OutFile
from inkaccord.run.imposed import Imposed


@hookimpl
def inkaccord_impose(order):
    return Imposed(files=(OutFile("../../escaped.pdf", b"x", "print"),))
