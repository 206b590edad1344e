"""A resistor bank named once with the contactors that short it step by step, opened into its sections for drawing.

A way may say of its rotor circuit: the bank R1 behind the motor, and after it in the same branch the contactors in the
order they close. Each shorts one section more, the one that closes last the slip rings themselves.
"""

from __future__ import annotations

from dataclasses import replace

from slipwise.results.wiring import Device, Wiring


def sectioned(wiring: Wiring) -> Wiring:
    """The same wiring with each such bank as resistors in a row, section 1 next to the star point, and each contactor
    joining the conductors before its section; without such a bank the wiring itself."""
    devices: list[Device] = []
    opened = {bank.label: closers for bank in wiring.devices if (closers := _closers(wiring, bank))}
    if not opened:
        return wiring
    inside = {closer.label for closers in opened.values() for closer in closers}
    for device in wiring.devices:
        if device.label in opened:
            devices += _sections(device, opened[device.label])
        elif device.label not in inside:
            devices.append(device)
    return replace(wiring, devices=tuple(devices))


def _closers(wiring: Wiring, bank: Device) -> list[Device]:
    """The contactors of a bank behind the motor, in the order of the list."""
    motors = {device.label for device in wiring.devices if device.kind == "motor"}
    if bank.kind != "resistor" or bank.after not in motors:
        return []
    following = [device for device in wiring.devices if device.after == bank.label and device.branch == bank.branch]
    return [device for device in following if device.kind == "contactor"]


def _sections(bank: Device, closers: list[Device]) -> list[Device]:
    """From the slip rings to the star point: the section shorted last stands first."""
    found: list[Device] = []
    before = bank.after
    for number in range(len(closers), 0, -1):
        closer = closers[number - 1]
        section = replace(bank, label=f"{bank.label} section {number}", after=before)
        found += [section, replace(closer, after=before, branch=f"{closer.branch} {number}")]
        before = section.label
    return found
