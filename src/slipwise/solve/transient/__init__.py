"""The electrical transient of a start or a stop: the space-vector machine behind its supply."""

from slipwise.solve.transient.batch import Batch, batch
from slipwise.solve.transient.starts import band, transient
from slipwise.solve.transient.stops import stop_band

__all__ = ["Batch", "band", "batch", "stop_band", "transient"]
