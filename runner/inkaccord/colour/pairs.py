"""A pair: one device with one stock and one driver setting. Colour knowledge belongs to it."""

from functools import cached_property
from typing import Any, Self, TypedDict

from pydantic import model_serializer, model_validator

from inkaccord.models import Frozen
from inkaccord.written import shown


class PairParts(TypedDict):
    """A pair's parts by name."""

    device: str
    stock: str
    setting: str


class Pair(Frozen):
    """Written ``device@stock`` or, with a driver setting, ``device@stock/setting``."""

    device: str
    stock: str
    setting: str = ""

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        device, at, rest = value.strip().partition("@")
        stock, _, setting = rest.partition("/")
        if not (device and at and stock):
            raise ValueError(f"{shown(value)} is not a pair: expected 'device@stock'")
        return {"device": device, "stock": stock, "setting": setting}

    @model_serializer
    def _as_text(self) -> str:
        return str(self)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a pair from text. Raises ValueError with what was expected."""
        return cls.model_validate(text)

    @property
    def parts(self) -> PairParts:
        """The pair's parts by name, to make an :class:`OnPair` with."""
        return PairParts(device=self.device, stock=self.stock, setting=self.setting)

    def __str__(self) -> str:
        tail = f"/{self.setting}" if self.setting else ""
        return f"{self.device}@{self.stock}{tail}"


class OnPair(Frozen):
    """What is so on a pair, whose parts it names singly for other programs."""

    device: str
    stock: str
    setting: str = ""

    @cached_property
    def pair(self) -> Pair:
        """The pair."""
        return Pair(device=self.device, stock=self.stock, setting=self.setting)
