"""slipwise: starting and speed control of three-phase induction motors."""

__version__ = "0.1.0"
