"""How far a way of starting carries: the edges of what still passes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One quantity moved alone, everything else as stated, until the way no longer passes.

    key: "inertia", "load", "fault_level" or "voltage". stated, edge: in `unit` (SI); edge is None when the way does not
    pass even as stated. open: it still passed at the end of the range searched, so `edge` is no edge but that end.
    binding: what stops it just beyond the edge, in words; "" when open.
    """

    key: str
    title: str
    unit: str
    stated: float
    edge: float | None
    open: bool
    binding: str

    @property
    def factor(self) -> float | None:
        """Edge per unit of the stated value; None without an edge or when nothing is stated."""
        return None if self.edge is None or self.stated == 0 else self.edge / self.stated


@dataclass(frozen=True, slots=True, kw_only=True)
class Boundary:
    """The edges of one way. title: as shown."""

    way: str
    title: str
    edges: tuple[Edge, ...]
