"""What to print next: the first sheet of a pair, and a few swatches round each predicted build."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.colour.conditions import INSTRUMENT_NOISE
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.press.drift import Drifted
from inkaccord.colour.press.model import PressModel
from inkaccord.colour.press.prepare import nominal_coverages
from inkaccord.colour.sampling.design import GenericPress, choose, posterior_belief
from inkaccord.errors import OrderError

FEWEST, MOST = 16, 100
"""How small and how large a scouting set may be."""

_CANDIDATES = 1200
_USED = 350
_USED_RGB, _LIGHTER = 512, 0.8
"""How many builds stand for all of RGB, and the power that makes them a little denser in the light
tones."""
_FOCUS_SHARE = 0.7
"""How much of the weight given colours carry; the rest keeps the model sound elsewhere."""


def scouting_set(
    drive: Drive,
    policy: InkPolicy,
    count: int = 40,
    *,
    paper_lab: ArrayLike | None = None,
    focus_lab: ArrayLike | None = None,
    beside: ArrayLike | None = None,
) -> Array:
    """Return the builds of the first sheet for a pair that nothing is known of.

    Parameters
    ----------
    drive
        How the device is driven.
    policy
        The pair's limits and use of black: swatches lie where builds will.
    count
        How many swatches, 16 to 100.
    paper_lab
        (3,) CIELAB of the stock, where it is known.
    focus_lab
        (m, 3) aims that the order needs.
    beside
        (c, k) builds that are read in any case (the controls of the sheet): not returned again.

    Returns
    -------
    Array
        (count, k) whole-number builds: paper and the solids, unless they stand beside, then the
        others in the order of what they teach. The same for the same arguments.

    Raises
    ------
    OrderError
        ``bad-count``.
    """
    if not FEWEST <= count <= MOST:
        raise OrderError.of(
            "bad-count",
            f"a scouting set of {count} swatches",
            hint=f"choose {FEWEST} to {MOST}; 40 is a good start",
        )
    press = GenericPress.of(drive, paper_lab)
    rng = np.random.default_rng(40)
    used, weights = _where_used(press, policy, focus_lab, rng)
    corners = _paper_and_solids(drive, policy)
    given = corners[:0] if beside is None else np.atleast_2d(np.asarray(beside, dtype=np.float64))
    must = np.concatenate([given, corners[~_among(corners, given)]])
    candidates = _candidates(drive, policy, used, must, rng)
    belief = press.belief(np.concatenate([candidates, used]))
    chosen = choose(
        belief,
        count + len(given),
        candidates=len(candidates),
        weights=weights,
        noise=INSTRUMENT_NOISE,
        first=np.arange(len(must)),
    )
    return np.asarray(candidates[chosen[len(given) :]])


def closing_set(
    model: PressModel | Drifted, builds: ArrayLike, per_colour: int, policy: InkPolicy
) -> list[Array]:
    """Return for each predicted build the swatches that will pin it down.

    The first is the build itself in whole numbers; the others lie where the final build may turn
    out to be, given what the model does not know, and are chosen for what they teach there.

    Parameters
    ----------
    model
        Fitted to the readings so far.
    builds
        (m, k) predicted builds.
    per_colour
        How many swatches for each, from 1.
    policy
        The pair's limits.

    Returns
    -------
    list
        m arrays (per_colour, k), fewer rows where the limits leave no room.
    """
    builds = np.atleast_2d(np.asarray(builds, dtype=np.float64))
    if not len(builds):
        return []
    top = policy.upper(model.drive)
    centres = _trim(np.rint(builds), top, policy.total(model.drive))
    if per_colour <= 1:
        return [centre[None] for centre in centres]
    clouds = [_cloud(model, centre, policy, number) for number, centre in enumerate(centres)]
    result = []
    for centre, cloud in zip(centres, clouds, strict=True):
        near = np.unique(_trim(np.rint(cloud), top, policy.total(model.drive)), axis=0)
        near = near[np.any(near != centre, axis=1)]
        candidates = np.concatenate([centre[None], near])
        every = np.concatenate([candidates, cloud])
        belief = posterior_belief(model.posterior, nominal_coverages(model.drive, every))
        chosen = choose(
            belief,
            per_colour,
            candidates=len(candidates),
            weights=np.full(len(cloud), 1.0 / len(cloud)),
            noise=INSTRUMENT_NOISE,
            first=np.array([0]),
        )
        result.append(candidates[chosen])
    return result


def _paper_and_solids(drive: Drive, policy: InkPolicy) -> Array:
    upper = np.floor(policy.upper(drive))
    if drive is Drive.CMYK:
        solids = np.diag(np.minimum(upper, policy.total(drive)))
        return np.concatenate([np.zeros((1, 4)), solids[upper > 0]])
    # 255 in all is bare paper; the other seven are the driver's solids and their overprints.
    return np.asarray(_corners(drive)[::-1])


def _where_used(
    press: GenericPress,
    policy: InkPolicy,
    focus_lab: ArrayLike | None,
    rng: np.random.Generator,
) -> tuple[Array, Array]:
    """Return builds that orders will need on such a press (n, k), and their weights (n,)."""
    if press.drive is Drive.RGB:
        from scipy.stats.qmc import Sobol  # noqa: PLC0415 - half a second to load

        # What a driver makes of RGB is known too little to say more than: light tones, mostly.
        used = Sobol(3, seed=rng).random(_USED_RGB) ** _LIGHTER * FULL_SCALE[Drive.RGB]
    else:
        reach = press.predict_lab(_spread(press.drive, policy, 2000, rng))
        # Even over the reach, not over ink, and twice as thick in the light half: stationery is
        # light.
        light = reach[:, 0] > np.median(reach[:, 0])
        aims = np.concatenate([_thin(reach, _USED // 2), _thin(reach[light], _USED // 4)])
        used = match(press, aims, policy).builds
    weights = np.full(len(used), 1.0 / len(used))
    focus = _focus(press, policy, focus_lab, rng)
    if focus is None:
        return used, weights
    shares = np.full(len(focus), _FOCUS_SHARE / len(focus))
    return np.concatenate([focus, used]), np.concatenate([shares, (1 - _FOCUS_SHARE) * weights])


def _focus(
    press: GenericPress,
    policy: InkPolicy,
    focus_lab: ArrayLike | None,
    rng: np.random.Generator,
) -> Array | None:
    """Return a cloud of builds where the order's colours may turn out to lie."""
    if focus_lab is None:
        return None
    centre = match(press, focus_lab, policy).builds
    copies = max(4, _USED // (2 * len(centre)))
    # The same colour needs some 12 % more or less of an ink on another pair (measured on the
    # tables of three press profiles); an ink that is not there seldom comes.
    scale = 0.12 * FULL_SCALE[press.drive]
    cloud = np.repeat(centre, copies, axis=0)
    shift = rng.normal(0.0, scale, cloud.shape) * np.where(cloud > 0, 1.0, 0.3)
    upper = policy.upper(press.drive)
    return _trim(cloud + shift, upper, policy.total(press.drive))


def _candidates(
    drive: Drive, policy: InkPolicy, used: Array, must: Array, rng: np.random.Generator
) -> Array:
    """Return builds that may go on the sheet: steps of five percent, easy to read out."""
    step = 5.0 if drive is Drive.CMYK else 15.0
    upper, cap = policy.upper(drive), policy.total(drive)
    ramps = [
        np.outer(np.arange(step, FULL_SCALE[drive], step), np.eye(len(upper))[i])
        for i in range(len(upper))
    ]
    if drive is Drive.RGB:
        ramps = [255.0 - ramp for ramp in ramps]
        ramps.append(np.repeat(np.arange(0.0, 255.0, step)[:, None], 3, axis=1))
    parts = [used, _spread(drive, policy, _CANDIDATES - len(used), rng), _corners(drive), *ramps]
    stepped = np.rint(np.concatenate(parts) / step) * step
    rest = np.unique(_trim(stepped, upper, cap), axis=0)
    return np.concatenate([must, rest[~_among(rest, must)]])


def _among(builds: Array, others: Array) -> NDArray[np.bool_]:
    """Return which of (n, k) builds are among (m, k) others."""
    return np.asarray((builds[:, None, :] == others[None, :, :]).all(axis=2).any(axis=1))


def _corners(drive: Drive) -> Array:
    channels = len(CHANNELS[drive])
    bits = (np.arange(2**channels)[:, None] >> np.arange(channels)) & 1
    return np.asarray(bits * FULL_SCALE[drive])


def _spread(drive: Drive, policy: InkPolicy, count: int, rng: np.random.Generator) -> Array:
    """Return builds over the whole reach, many of them at the limits of a channel."""
    upper, cap = policy.upper(drive), policy.total(drive)
    shares = np.clip(rng.uniform(-0.35, 1.25, (max(count, 0), len(upper))), 0.0, 1.0)
    if drive is Drive.CMYK:
        shares[:, 3] *= rng.random(len(shares)) < 0.6
    return _trim(shares * upper, upper, cap)


def _trim(builds: Array, upper: Array, cap: float) -> Array:
    """Return builds within the limits, whole where they were whole."""
    whole = np.array_equal(builds, np.rint(builds))
    builds = np.clip(builds, 0.0, np.floor(upper) if whole else upper)
    total = builds.sum(axis=-1, keepdims=True)
    scaled = builds * np.minimum(1.0, cap / np.maximum(total, 1e-9))
    return np.asarray(np.floor(scaled + 1e-9) if whole else scaled)


def _thin(lab: Array, count: int) -> Array:
    """Return about ``count`` of the colours, evenly spread over CIELAB."""
    edge = np.prod(np.ptp(lab, axis=0)) ** (1 / 3) / count ** (1 / 3)
    for _ in range(12):
        cells = np.unique(np.floor(lab / edge).astype(np.int64), axis=0, return_index=True)[1]
        if len(cells) >= count:
            break
        edge *= 0.85
    return lab[np.sort(cells)]


def _cloud(model: PressModel | Drifted, centre: Array, policy: InkPolicy, number: int) -> Array:
    """Return builds (n, k) where the final one may lie, given what the model does not know."""
    at = centre[None]
    lab = model.predict_lab(at)[0]
    covariance = model.covariance_lab(at)[0] + 0.05 * np.eye(3)
    root = np.linalg.cholesky(covariance)
    rng = np.random.default_rng(number)
    aims = lab + rng.normal(size=(48, 3)) @ root.T
    # Follow the model's slope with the smallest change of ink.
    slope = model.jacobian_lab(at)[0]
    free = np.where(centre > 0, 1.0, 0.15)
    solve = np.linalg.pinv(slope * free, rcond=1e-3)
    steps = ((aims - lab) @ solve.T) * free
    reach = 0.15 * FULL_SCALE[model.drive]
    steps = np.clip(steps, -reach, reach)
    upper = policy.upper(model.drive)
    return _trim(centre + steps, upper, policy.total(model.drive))
