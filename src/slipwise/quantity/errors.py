"""The two errors a user can cause: a bad value in the input, and a value outside a formula's domain."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with the input: where, what was found, why it cannot stand, what would do.

    field: dotted path in the study file, e.g. `motor.circuit.X1`.
    value: as the user wrote it.
    file, line: where it stands, when it came from a file; line counts from 1.
    """

    field: str
    value: str
    reason: str
    remedy: str
    file: Path | None = None
    line: int | None = None

    def __str__(self) -> str:
        place = "" if self.file is None else f"{self.file}:{self.line}: " if self.line else f"{self.file}: "
        shown = f": {self.value}" if self.value else ""
        return f"{place}{self.field}{shown}: {self.reason}; {self.remedy}"

    def located(self, file: Path | None, line: int | None) -> Fault:
        return replace(self, file=file, line=line)


class InputError(ValueError):
    """Bad input; carries every fault found, so that all can be mended in one go."""

    def __init__(self, *faults: Fault) -> None:
        if not faults:
            raise TypeError("an InputError needs at least one Fault")
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))

    @classmethod
    def of(cls, field: str, value: object, reason: str, remedy: str) -> InputError:
        return cls(Fault(field=field, value=str(value), reason=reason, remedy=remedy))


class DomainError(InputError):
    """A physical function was asked for a value outside its domain (not finite, negative where it cannot be)."""
