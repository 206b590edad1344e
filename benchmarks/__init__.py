"""Measurements and long statistical tables; `python -m benchmarks bench` and `python -m benchmarks evidence`."""
