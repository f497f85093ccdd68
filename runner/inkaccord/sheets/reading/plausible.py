"""Could these be readings of this sheet? Found before anything is stored.

What any device would roughly print (:mod:`inkaccord.colour.press.priors`) is bent to the readings
by a robust fit; only then are the readings judged, so an odd stock or a weak ink passes, while a
sheet read from the wrong end, two strips exchanged or another sheet's file does not.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.diagnostics import Diagnostic, error, warning
from inkaccord.sheets.model import SampleSheet, Swatch
from inkaccord.sheets.reading.conversion import conversion_findings

_ENOUGH = 12
"""Swatches from which the shape of the whole can be judged."""
_FOLLOWS = 0.35
"""Share of the variance that the rough expectation explains at least, for any real print."""
_CLEARLY = 0.6
"""Another order of the rows is believed when it leaves less than this share of the distance."""
_MOST_ODD = 200
"""How many of the worst swatches are looked at for exchanges; pairs of them are compared."""
_DRIFTED = 3.0
"""ΔE00, median, from earlier readings of the same builds, that is worth a word."""
_VISIBLE = 15.0
"""CIELAB distance that a rough expectation can vouch for."""


def expected_lab(builds: Sequence[Build]) -> Array:
    """Return (n, 3) CIELAB of what a device that nobody knows would print, on white paper."""
    values = np.array([build.values for build in builds], dtype=np.float64)
    return GenericPress.of(builds[0].drive).predict_lab(values)


def judge(sheet: SampleSheet, lab: Array, *, known: Array | None = None) -> list[Diagnostic]:
    """Return what is wrong with readings (n, 3) of a sheet's swatches, in its order.

    Errors mean that they can't be trusted; warnings ask for a second look. ``known`` is what
    the same builds read before, (n, 3) with NaN where there is nothing.
    """
    findings = list(_stuck(sheet.swatches, lab))
    if len(sheet.swatches) >= _ENOUGH:
        expected = expected_lab([swatch.build for swatch in sheet.swatches])
        if known is not None and np.isfinite(known).all():
            expected = known
        findings += _shape(sheet, expected, lab)
    if not any(finding.code in {"wrong-sheet", "other-order"} for finding in findings):
        findings += _controls(sheet.swatches, lab)
        findings += conversion_findings(sheet, lab)
        if known is not None:
            findings += _against_known(sheet, lab, known)
    return findings


def _stuck(swatches: Sequence[Swatch], lab: Array) -> Iterator[Diagnostic]:
    """Find readings that repeat the one before although the builds are far apart."""
    builds = np.array([swatch.build.values for swatch in swatches])
    moved = np.abs(np.diff(builds, axis=0)).max(axis=1) > 10 if len(builds) > 1 else np.empty(0)
    same = np.flatnonzero(moved & (np.abs(np.diff(lab, axis=0)).max(axis=1) < 1e-3)) + 1
    if not len(same):
        return
    names = [swatches[int(at)].id for at in same]
    many = len(same) * 4 > len(swatches)
    make = error if many else warning
    yield make(
        "stuck-reading",
        f"{', '.join(names[:12])}: exactly the reading of the swatch before, though the builds "
        "differ",
        hint="the instrument may not have moved on; read these swatches again",
    )


def _shape(sheet: SampleSheet, expected: Array, lab: Array) -> Iterator[Diagnostic]:
    """Judge the whole: another sheet, another order, two swatches exchanged, one misread."""
    fitted, weights = _bent(expected, lab)
    residual = np.linalg.norm(fitted - lab, axis=1)
    typical = float(np.median(residual))
    best, name = typical, ""
    for other, order in _orders(sheet):
        moved = lab[order]
        there = float(np.median(np.linalg.norm(_bent(expected, moved)[0] - moved, axis=1)))
        if there < best:
            best, name = there, other
    if name and best < _CLEARLY * typical and typical > 4.0:
        yield error(
            "other-order",
            f"the readings fit sheet {sheet.id} {name} far better (typical distance {best:.1f} "
            f"instead of {typical:.1f} in CIELAB)",
            hint="turn the sheet so that its heading is on top, and read it again",
        )
        return
    spread = float(np.var(lab, axis=0).sum())
    explained = 1.0 - float(np.mean(residual**2)) / spread if spread > 0 else 0.0
    if explained < _FOLLOWS:
        yield error(
            "wrong-sheet",
            f"the readings do not follow the builds of sheet {sheet.id} (they explain "
            f"{max(explained, 0.0):.0%} of what was read)",
            hint="check that it is this sheet's file, and in this order",
        )
        return
    yield from _odd_ones(sheet.swatches, fitted, lab, residual, weights)


def _bent(expected: Array, lab: Array) -> tuple[Array, Array]:
    """Return (n, 3) the expectation bent to the readings, and (n,) how far each was trusted.

    An affine map of expected CIELAB, L*² and C*, by iteratively reweighted least squares with
    Cauchy weights, so that a few wrong rows do not bend it.
    """
    light, chroma = expected[:, :1], np.hypot(expected[:, 1:2], expected[:, 2:3])
    terms = [np.ones_like(light), expected / 50.0]
    if len(expected) >= 2 * _ENOUGH:
        terms += [(light / 50.0 - 1.0) ** 2, chroma / 50.0]
    design = np.hstack(terms)
    weights = np.ones(len(lab))
    fitted = lab
    for _ in range(12):
        root = np.sqrt(weights)[:, None]
        shape = np.linalg.lstsq(design * root, lab * root, rcond=None)[0]
        fitted = design @ shape
        distance = np.linalg.norm(fitted - lab, axis=1)
        scale = max(float(np.median(distance)), 1.0)
        weights = 1.0 / (1.0 + (distance / (2.0 * scale)) ** 2)
    return fitted, weights


def _orders(sheet: SampleSheet) -> Iterator[tuple[str, NDArray[np.int_]]]:
    """Give other orders in which a sheet may have been read, as indices into the rows."""
    count = len(sheet.swatches)
    yield "read from the last swatch to the first, upside down,", np.arange(count)[::-1]
    if any(swatch.box_pt is None for swatch in sheet.swatches):
        return
    boxes = np.array([swatch.box_pt for swatch in sheet.swatches], dtype=np.float64)
    pages = np.array([swatch.page for swatch in sheet.swatches])
    left, top = np.round(boxes[:, 0]), -np.round(boxes[:, 3])
    for name, keys in (
        ("read column by column", (top, left, pages)),
        ("read row by row", (left, top, pages)),
    ):
        rank = np.empty(count, dtype=np.int_)
        rank[np.lexsort(keys)] = np.arange(count)
        yield name, rank
    if sheet.pages > 1:
        rank = np.empty(count, dtype=np.int_)
        for page in np.unique(pages):
            own = np.flatnonzero(pages == page)
            rank[own] = own[::-1]
        yield "with every page read upside down,", rank


def _odd_ones(
    swatches: Sequence[Swatch], fitted: Array, lab: Array, residual: Array, weights: Array
) -> Iterator[Diagnostic]:
    """Name exchanged swatches (error) and single swatches that stand out (warning)."""
    limit = max(_VISIBLE, 4.0 * float(np.median(residual)))
    worst = np.argsort(-residual)[:_MOST_ODD]
    odd = sorted(int(at) for at in worst if residual[at] > limit)
    exchanged: set[int] = set()
    for at, one in enumerate(odd):
        for other in odd[at + 1 :]:
            crossed = np.linalg.norm(fitted[one] - lab[other]) + np.linalg.norm(
                fitted[other] - lab[one]
            )
            if crossed < 0.35 * (residual[one] + residual[other]) and not {one, other} & exchanged:
                exchanged |= {one, other}
                yield error(
                    "swapped-rows",
                    f"the readings of {swatches[one].id} and {swatches[other].id} seem to be "
                    "exchanged: each fits the other's build",
                    hint="read both again",
                )
    for at in odd:
        if at not in exchanged and weights[at] < 0.2 and residual[at] > 2 * limit:
            yield warning(
                "odd-reading",
                f"swatch {swatches[at].id} ({swatches[at].build}) reads CIELAB "
                "{:.0f} {:.0f} {:.0f}, far from what its build and the other swatches "
                "suggest".format(*(np.rint(lab[at]) + 0.0)),
                hint="look at the swatch; if it is sound, read it again",
            )


def _controls(swatches: Sequence[Swatch], lab: Array) -> Iterator[Diagnostic]:
    """Check what must hold on any light stock: paper is lightest, a solid darker than its tint."""
    controls = {s.build.values: at for at, s in enumerate(swatches) if s.control}
    if not controls:
        return
    drive = swatches[0].build.drive
    bare = (0.0,) * 4 if drive is Drive.CMYK else (255.0,) * 3
    paper = controls.get(bare)
    if paper is None or lab[:, 0].max() < 60:  # on dark stock opaque ink may be the lighter
        return
    wrong: list[str] = []
    lightest = int(np.argmax(lab[:, 0]))
    if lab[lightest, 0] > lab[paper, 0] + 6:
        wrong.append(f"{swatches[paper].id} is bare paper, but {swatches[lightest].id} is lighter")
    solids = {
        b: at for b, at in controls.items() if set(b) <= {0.0, 100.0 if len(b) == 4 else 255.0}
    }
    for build, solid in solids.items():
        tint = controls.get(_tint(build, bare))
        if solid != paper and tint is not None and tint != solid:
            from_paper = np.linalg.norm(lab[[solid, tint]] - lab[paper], axis=1)
            if from_paper[0] + 6 < from_paper[1]:
                wrong.append(
                    f"{swatches[solid].id} is a solid, but its tint {swatches[tint].id} is stronger"
                )
    if wrong:
        make = error if len(wrong) > 1 else warning
        yield make(
            "controls-disagree",
            f"the control swatches contradict the builds: {'; '.join(wrong)}",
            hint="check that the sheet was read from its first swatch, and that no strip was "
            "skipped or exchanged",
        )


def _tint(solid: tuple[float, ...], bare: tuple[float, ...]) -> tuple[float, ...]:
    """Return the mid tint that stands on a sheet beside a solid."""
    if len(bare) == 4:
        return tuple(value / 2 for value in solid)
    return tuple(255.0 if value == 255.0 else 128.0 for value in solid)


def _against_known(sheet: SampleSheet, lab: Array, known: Array) -> Iterator[Diagnostic]:
    """Compare with what was known of these swatches: read before, or read on other sheets."""
    both = np.isfinite(known).all(axis=1)
    if not both.any():
        return
    apart = delta_e_2000(known[both], lab[both])
    if float(np.median(apart)) > _DRIFTED:
        yield warning(
            "not-as-before",
            f"sheet {sheet.id} reads {np.median(apart):.1f} ΔE00 (median of {len(apart)} swatches) "
            "from what the same builds read before",
            hint="it may be another sheet's file; or the device has drifted, or the old sheet "
            "faded: 'inkaccord shelf retire' takes what does not hold out of use",
        )
