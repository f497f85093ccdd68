"""Falls where it should deliver."""

from inkaccord.plugin import hookimpl


@hookimpl
def inkaccord_deliver() -> None:
    raise RuntimeError("no paper")
