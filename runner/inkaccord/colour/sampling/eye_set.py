"""Swatches to pick from by eye: round a build, in steps that the eye can tell apart."""

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.delta_e import delta_e_2000_metric
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.predictor import Predictor

Array = NDArray[np.float64]

SHELLS: tuple[float, ...] = (4.0, 8.0)
"""How far away the swatches lie, ΔE00: a step that the eye tells apart easily, and two."""

_AXES = np.concatenate([np.eye(3), -np.eye(3)])
_CORNERS = np.array(list(product((-1.0, 1.0), repeat=3))) / np.sqrt(3.0)


def eye_set(
    model: Predictor, build: ArrayLike, policy: InkPolicy, shells: Sequence[float] = SHELLS
) -> Array:
    """Return the build itself, and builds that look some steps away from it in every direction.

    Parameters
    ----------
    model
        What the pair is thought to print; a rough one will do, for only differences count.
    build
        (k,) the middle.
    policy
        The pair's limits; black stays near that of the middle.
    shells
        How far away, ΔE00. The last shell has the corners of a cube beside its faces.

    Returns
    -------
    Array
        (n, k) whole-number builds, each once, the middle first; fewer where limits leave no room.
    """
    centre = np.asarray(build, dtype=np.float64)
    middle = model.predict_lab(centre[None])[0]
    # ΔE00² = dᵀ M d near the middle, so a step of length 1 is d = (Lᵀ)⁻¹ u with M = L Lᵀ.
    root = np.linalg.inv(np.linalg.cholesky(delta_e_2000_metric(middle)).T)
    ways = [length * _AXES for length in shells]
    ways.append(shells[-1] * _CORNERS)
    aims = middle + np.concatenate(ways) @ root.T
    aims[:, 0] = np.clip(aims[:, 0], 0.0, 100.0)
    near = policy.model_copy(
        update={"black": Black.NEAR, "black_free_above": None, "spare_ink_within": 0.0}
    )
    found = match(model, aims, near, near=centre)
    # What lands far from its aim lies at the edge of the pair's reach, on top of its neighbours.
    kept = found.builds[found.delta_e_00 <= 0.6 * shells[0]]
    rows = np.concatenate([np.rint(centre)[None], kept])
    _, first = np.unique(rows, axis=0, return_index=True)
    return rows[np.sort(first)]
