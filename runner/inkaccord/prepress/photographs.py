"""Photographs through the models of two pairs, where the order asks for it."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pikepdf

from inkaccord.artwork.photographs.colour_table import ColourTable, build_table
from inkaccord.artwork.photographs.translate import translate_photographs
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.photograph_proof import PhotographProof, prove_photographs
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.order.model import Order, Photographs
from inkaccord.pdf.writing import save_as_packed
from inkaccord.run.bench import Bench
from inkaccord.words import counted

if TYPE_CHECKING:  # slow to load
    from inkaccord.colour.press.drift import Drifted
    from inkaccord.colour.press.model import PressModel

    AnyPress = PressModel | Drifted


@dataclass(frozen=True)
class TranslatedCopy:
    """A PDF whose photographs went through the models of two pairs, where the order asks."""

    data: bytes
    findings: tuple[Diagnostic, ...] = ()
    proof: PhotographProof | None = None
    """None where no photograph was translated."""


@dataclass
class PhotographTables:
    """The tables of a run, each prepared once."""

    order: Order
    bench: Bench
    _tables: dict[tuple[Drive, Pair], ColourTable] = field(default_factory=dict)

    def translate(
        self, before: bytes, pair: Pair, place: str, profiled: Profiled = Profiled.AS_PROFILED
    ) -> TranslatedCopy:
        """Return a PDF with its photographs translated to a pair, proved, and what is to be said.

        CMYK pictures come from ``photographs_from``, RGB pictures from sRGB (IEC 61966-2-1);
        those with a profile stay, unless only their numbers count.
        """
        if self.order.photographs is not Photographs.MATCHED:
            return TranslatedCopy(before)
        source = self.order.photographs_from
        tables = {Drive.RGB: self._table(Drive.RGB, pair)}
        if source is not None and self.bench.pair(self.order.pair(source)).is_read:
            tables[Drive.CMYK] = self._table(Drive.CMYK, pair)
        data, proof = before, None
        with pikepdf.open(io.BytesIO(before)) as pdf:
            report = translate_photographs(pdf, tables, profiled=profiled is Profiled.PLAIN)
            if report.translated:
                data = save_as_packed(pdf)
        if report.translated:
            limit = self.bench.pair(pair).policy.total(self.bench.pair(pair).drive)
            proof = self.bench.recall(
                prove_photographs, before, data, report.translated, ink_limit=limit
            )
        findings = list(report.findings)
        if report.translated:
            findings.append(
                note(
                    "photographs-matched",
                    f"{counted(report.translated, 'picture')} of {place} "
                    f"{'was' if report.translated == 1 else 'were'} matched to {pair}",
                )
            )
        if Drive.CMYK not in tables and report.kept:
            findings.append(
                warning(
                    "photographs-without-source",
                    f"CMYK pictures of {place} stay as they are: no read pair is named that "
                    "prints them right",
                    hint="give 'photographs_from: device@stock' and read that pair",
                )
            )
        return TranslatedCopy(data, tuple(findings), proof)

    def _table(self, source: Drive, pair: Pair) -> ColourTable:
        key = source, pair
        if key not in self._tables:
            self.bench.progress(f"preparing photographs for {pair}")
            target = self.bench.pair(pair)
            policy = target.policy.model_copy(update={"whole": False})
            printed = None if source is Drive.RGB else self._printed()
            self._tables[key] = self.bench.recall(picture_table, printed, target.model, policy)
        return self._tables[key]

    def _printed(self) -> AnyPress:
        """Return the model of the pair that prints CMYK pictures right."""
        assert self.order.photographs_from is not None  # noqa: S101 - asked for before
        return self.bench.pair(self.order.pair(self.order.photographs_from)).model


def picture_table(printed: AnyPress | None, target: AnyPress, policy: InkPolicy) -> ColourTable:
    """Return the table from pictures as a pair prints them, or in sRGB for None, to a pair."""

    def lab_of(builds: Array) -> Array:
        if printed is None:
            return srgb_to_lab(np.asarray(builds) / 255.0)
        return printed.predict_lab(builds)

    def matched(lab: Array) -> Array:
        return match(target, lab, policy).builds

    source = Drive.RGB if printed is None else Drive.CMYK
    return build_table(
        lab_of,
        matched,
        source=source,
        target=target.drive,
        most_ink=policy.total(target.drive),
    )
