"""Tasks on a Dask cluster: ``run --cluster tcp://HOST:PORT``.

The scheduler and its workers are started by whoever runs the machines, with the same inkaccord on
each. The library ``distributed`` is the extra ``cluster``; it is loaded when a cluster is named.
"""

from collections.abc import Sequence

from inkaccord.plugin import Connected, Executors, OrderError, hookimpl

_SCHEMES = ("tcp://", "tls://", "ucx://", "ws://", "wss://")
"""How Dask writes the addresses of schedulers."""


class DaskExecutors:
    """Clusters of the library ``distributed``."""

    name = "dask"

    def recognises(self, address: str) -> bool:
        """Tell a scheduler's address."""
        return address.startswith(_SCHEMES)

    def connect(self, address: str) -> Connected:
        """Connect to a scheduler. Raises OrderError without the library, or without an answer."""
        try:
            from inkaccord_dask.cluster import connected  # noqa: PLC0415 - slow to load
        except ModuleNotFoundError as problem:
            raise OrderError.of(
                "no-distributed",
                f"to work on the cluster at {address} the library {problem.name} is needed",
                hint="pip install 'inkaccord[cluster]'",
            ) from problem
        return connected(address)


@hookimpl
def inkaccord_executors() -> Sequence[Executors]:
    """Offer clusters of Dask."""
    return [DaskExecutors()]
