"""From a covariance in CIELAB to what may be said in ΔE00."""

import numpy as np
from scipy.special import chdtri, gammaincinv

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000_metric

BOUND = float(np.sqrt(chdtri(3, 0.05) / 3.0))
"""From a root mean square error, alike in every direction, to its 95 % bound: the root of χ² with
three degrees of freedom over three."""
BEYOND_ERROR = float(np.sqrt(chdtri(3, 0.01) / 3.0))
"""The same at 99 %: what lies farther off is no error of that size."""


def expected_delta_e(lab: Array, covariance: Array) -> Array:
    """Return the root mean square ΔE00 of errors with this covariance.

    Parameters
    ----------
    lab, covariance
        (n, 3) colours and (n, 3, 3) covariances of their errors, CIELAB.
    """
    form = delta_e_2000_metric(lab) @ covariance
    return np.asarray(np.sqrt(np.maximum(np.trace(form, axis1=-2, axis2=-1), 0.0)))


def delta_e_bound(lab: Array, covariance: Array, *, repeat: float = 0.0) -> Array:
    """Return the ΔE00 that errors with this covariance stay below in 95 of 100 cases.

    Parameters
    ----------
    lab, covariance
        (n, 3) colours and (n, 3, 3) covariances of their errors, CIELAB.
    repeat
        Root mean square ΔE00 of an error that comes on top, alike in every direction.

    Notes
    -----
    ΔE00² is a weighted sum of three squared normals; it is replaced by the gamma distribution of
    the same mean and variance (F. E. Satterthwaite, Biometrics Bulletin 2(6), 1946).
    """
    form = delta_e_2000_metric(lab) @ covariance + np.eye(3) * (repeat**2 / 3.0)
    mean = np.maximum(np.trace(form, axis1=-2, axis2=-1), 1e-12)
    variance = np.maximum(2.0 * np.trace(form @ form, axis1=-2, axis2=-1), 1e-24)
    shape = mean**2 / variance
    return np.asarray(np.sqrt(gammaincinv(shape, 0.95) * mean / shape))


def noise_covariance(lab: Array, noise: Array) -> Array:
    """Return the covariance (n, 3, 3) in CIELAB of errors alike in every direction of ΔE00.

    Parameters
    ----------
    lab
        (n, 3) colours.
    noise
        (n,) root mean square ΔE00.
    """
    share = (np.asarray(noise) ** 2 / 3.0)[:, None, None]
    return np.asarray(np.linalg.inv(delta_e_2000_metric(lab)) * share)
