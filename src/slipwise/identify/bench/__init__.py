"""A motor from its bench tests: dc resistance, no load, locked rotor, load."""
