"""Checks before release: an artwork against the rules of the vendor that prints it."""

from inkaccord.artwork.preflight.case import Check, OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import CHECKS, preflight

__all__ = ["CHECKS", "ArtworkRules", "Check", "OpenArtwork", "PreflightContext", "preflight"]
