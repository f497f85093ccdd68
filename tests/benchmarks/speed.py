"""Time and memory of fitting and matching, beside a general-purpose solver."""

import time
import tracemalloc

import numpy as np
import practices as do
from scipy.optimize import minimize

from inkaccord.colour.builds import Drive
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz


def fit_times(raws) -> dict:
    """Processor seconds and peak memory of a fit, from the largest set of raw readings at hand."""
    if not raws:
        return {}
    raw = max(raws, key=lambda r: len(r.builds))
    rows = {}
    for count in (40, 300, len(raw.builds)):
        chosen = np.random.default_rng(count).permutation(len(raw.builds))[:count]
        readings = Readings(
            drive=Drive.CMYK,
            builds=raw.builds[chosen],
            xyz=lab_to_xyz(raw.lab[chosen]),
            sheet=np.zeros(count, dtype=np.int_),
            noise=np.full(count, do.NOISE),
        )
        do.fit(readings)
        start = time.process_time()
        do.fit(readings)
        seconds = time.process_time() - start
        tracemalloc.start()
        do.fit(readings)
        peak = tracemalloc.get_traced_memory()[1] / 2**20
        tracemalloc.stop()
        rows[f"{count} readings"] = f"{seconds:.2f} s, peak {peak:.0f} MiB"
    return rows


def match_times(pairs, *, quick: bool) -> dict:
    """Processor time an aim of match, and of SLSQP on colour-science's ΔE00, on one pair."""
    if not pairs:
        return {}
    import colour

    pair = pairs[0]
    rng = np.random.default_rng(5)
    model = do.fit(do.read(pair, do.scouting(pair, 300), rng))
    aims = do.even_aims(pair, 50, rng)
    policy = do.policy(whole=True)
    do.match(model, aims[:2], policy)
    start = time.process_time()
    found = do.match(model, aims, policy)
    ours = (time.process_time() - start) / len(aims)

    some = aims[: 3 if quick else 20]
    start = time.process_time()
    theirs = []
    for aim in some:
        result = minimize(
            lambda x, aim=aim: float(
                colour.delta_E(model.predict_lab(x[None]), aim[None], method="CIE 2000")[0]
            ),
            np.array([30.0, 30.0, 30.0, 5.0]),
            method="SLSQP",
            bounds=[(0, 100)] * 4,
            constraints={"type": "ineq", "fun": lambda x: do.INK_LIMIT - x.sum()},
        )
        theirs.append(np.round(result.x))
    slsqp = (time.process_time() - start) / len(some)
    reached = do.delta_e_2000(model.predict_lab(np.array(theirs)), some)
    mine = found.delta_e_00[: len(some)]
    return {
        "match, ms an aim": round(1e3 * ours, 2),
        "SLSQP on colour-science's ΔE00, ms an aim": round(1e3 * slsqp, 2),
        "times faster": round(slsqp / ours, 1),
        "match, predicted ΔE00 median / worst": f"{np.median(mine):.3f} / {mine.max():.3f}",
        "SLSQP, the same": f"{np.median(reached):.3f} / {reached.max():.3f}",
    }
