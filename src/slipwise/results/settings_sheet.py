"""What is taken to the panel: every dial with its value, and what is to be measured when the drive is first started."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DialRow:
    """One dial. device: where it is; dial: what it is called; value in unit, or text for a choice in words.

    check: how it is proved on site, in words with numbers. origin: given, computed, assumed.
    """

    device: str
    dial: str
    value: float | None
    unit: str
    text: str
    check: str
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """One quantity to be measured at commissioning, in `unit`: nominal value and the band of the cases."""

    quantity: str
    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsSheet:
    """The dials and the expected measurements of one way."""

    dials: tuple[DialRow, ...]
    expected: tuple[Expected, ...]
