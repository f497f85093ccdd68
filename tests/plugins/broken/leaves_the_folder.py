from inkaccord.plugin import OutFile, hookimpl


@hookimpl
def inkaccord_deliver(run):
    return [
        OutFile("../escaped.txt", b"x", "list"),
        OutFile("run.json", b"{}", "list"),
        OutFile("extra/fine.txt", b"fine", "list"),
    ]
