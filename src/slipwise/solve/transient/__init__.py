"""The electrical transient of a start: the space-vector machine behind its supply."""

from slipwise.solve.transient.batch import Batch, batch
from slipwise.solve.transient.starts import band, transient

__all__ = ["Batch", "band", "batch", "transient"]
