"""Is it true for my motor? Shorthands of the classroom set against the full computation for the motor of a study."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from slipwise import __version__
from slipwise.results.claims import Claim, Claims
from slipwise.study.cautions import cautions_for
from slipwise.study.model import Study
from slipwise.teach.claims import at_rest, heat, running
from slipwise.teach.claims.motor import Machine, machine_of
from slipwise.teach.paper import cautions

Progress = Callable[[str, float | None], None]
EVERY: Mapping[str, Callable[[Study, Machine], Claim]] = {
    make.__name__: make
    for make in (
        at_rest.star_third,
        at_rest.voltage_squared,
        at_rest.rotor_resistance,
        at_rest.ten_times,
        heat.kinetic_energy,
        running.slip_torque,
        running.efficiency_slip,
        running.constant_volts_per_hertz,
        running.approximate_circuit,
    )
}
"""The shorthands by their keys, in the order of the page."""
GENERAL = ("judgement", "isolation", "estimated data")  # cautions: nothing is set or started by this page


def claims(study: Study, *, progress: Progress | None = None) -> Claims:
    """Every shorthand for the study's motor.

    Args:
        study: its motor must have a circuit; load and supply stand behind two of the shorthands.
        progress: told the name and the share done before each.

    Raises:
        InputError: the motor is known by typed curves only.
    """
    machine, found = machine_of(study), []
    for number, (key, make) in enumerate(EVERY.items()):
        if progress is not None:
            progress(key.replace("_", " "), number / len(EVERY))
        found.append(make(study, machine))
    return Claims(
        title=study.title,
        slipwise_version=__version__,
        file=study.file.name if study.file else "",
        claims=tuple(found),
        notes=_notes(study, machine),
        cautions=tuple(words for words in cautions_for(study) if words in cautions(*GENERAL)),
    )


def _notes(study: Study, machine: Machine) -> tuple[str, ...]:
    """What the comparison rests on."""
    saturable = "leakage or main path saturates as the study says" if machine.saturable else "constant reactances"
    star = (
        ""
        if study.motor.rating.connection == "delta"
        else " The motor runs in star: the star-delta start is as if it ran in delta."
    )
    return (
        f"Motor of the study at rated voltage and frequency unless a row says otherwise; {saturable}.{star}",
        "True: no row off by more than 1 %; nearly true: 5 %; true in part: beyond in some rows. The bounds are a choice of "
        "this page (common practice, no source).",
    )
