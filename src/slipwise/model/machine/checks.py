"""Checks at the door of the machine formulas: each names the argument and shows its value."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.quantity.errors import DomainError


def require_finite(name: str, value: Any) -> None:
    """Raises DomainError naming `name` when a number, or any element of an array, is not finite."""
    if not np.all(np.isfinite(value)):
        raise DomainError.of(name, value, "is not a finite number", "give a finite number")


def require_positive(name: str, value: Any) -> None:
    """Raises DomainError naming `name` unless the number, or every element of an array, is finite and above zero."""
    if not np.all(np.isfinite(value) & (np.asarray(value) > 0)):
        raise DomainError.of(name, value, "must be above zero", "give a positive number")
