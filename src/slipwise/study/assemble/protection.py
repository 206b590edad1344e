"""From `[protection]` to what is known about relay, trips and switchgear."""

from __future__ import annotations

from slipwise.limits.protection import RelayRequest
from slipwise.model.machine.motor import Motor, Rating
from slipwise.model.supply.path import SupplyPath
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book, StopError
from slipwise.study.protection.model import BankRequest, ProtectionStudy, StarterRating
from slipwise.study.schema.protection import ProtectionSection, ResistorBankSection, SoftStarterRatingSection
from slipwise.study.thermal.model import ThermalStudy

_PRACTICE = "common practice, no source"
_COILS = (
    "contactors close at 85 % and drop out somewhere between 20 and 75 % of coil voltage, IEC 60947-4-1 (from memory)"
)
_TRIP = "short-circuit trips, IEC 60947-2 (from memory)"
_RISE = "resistor elements, NEMA ICS 2 (from memory)"


def build_protection(
    section: ProtectionSection | None, motor: Motor, path: SupplyPath, thermal: ThermalStudy | None, book: Book
) -> ProtectionStudy:
    """What is known; everything open when the file has no `[protection]`.

    Raises:
        InputError: values that cannot stand beside each other; all of them.
    """
    if section is None:
        return ProtectionStudy(bank=_usual_bank(thermal))
    before = len(book.faults)
    found = ProtectionStudy(
        relay=_relay(section, motor.rating, book),
        sensitive=_sensitive(section, book),
        instantaneous=_current(section.instantaneous, "protection.instantaneous", motor.rating, book),
        tolerance=_tolerance(section, book),
        line_contactor=None if section.line_contactor is None else section.line_contactor.value,
        coil_busbar=_coil_busbar(section, path, book),
        hold_in=_hold_in(section, book),
        soft_starter=_starter(section.soft_starter),
        bank=_bank(section.resistor_bank, thermal, book),
    )
    if len(book.faults) > before:
        raise StopError(*book.faults[before:])
    return found


def _relay(section: ProtectionSection, rating: Rating, book: Book) -> RelayRequest:
    if section.place == "winding" and rating.connection != "delta":
        book.fault(
            "protection.place", "winding", f"a winding in {rating.connection} carries the line current",
            'write place = "line"',
        )  # fmt: skip
    place = section.place
    if place is None and section.setting is not None:
        place = book.assumed_word("protection.place", "line", "the setting is taken as that of a relay in the line")
    usual = rating.current * (0.577 if place == "winding" else 1.0)
    if section.setting is not None and not 0.3 * usual <= section.setting.value <= 3 * usual:
        book.fault(
            "protection.setting", section.setting, f"a relay in the {place} belongs near {usual:.4g} A",
            "correct the setting or the place",
        )  # fmt: skip
    _switch_pair(section, book)
    delay = section.speed_switch_delay
    return RelayRequest(
        trip_class=section.trip_class,
        setting=None if section.setting is None else section.setting.value,
        place=place,
        switch_speed=_speed(section.speed_switch, rating, book),
        switch_delay=None if delay is None else delay.value,
    )


def _switch_pair(section: ProtectionSection, book: Book) -> None:
    pair = {"speed_switch": section.speed_switch, "speed_switch_delay": section.speed_switch_delay}
    examples = {"speed_switch": '"150 r/min"', "speed_switch_delay": '"4 s"'}
    if sum(value is None for value in pair.values()) == 1:
        missing = next(key for key, value in pair.items() if value is None)
        book.fault(
            f"protection.{missing}",
            "",
            "a speed switch has a speed and a delay",
            f"add {missing} = {examples[missing]}",
        )


def _speed(value: Parsed | None, rating: Rating, book: Book) -> float | None:
    if value is None:
        return None
    sync = rating.synchronous_speed
    speed = value.value
    if value.unit == "pu":
        speed = book.derived("protection.speed_switch", speed * sync, "rad/s", f"{value.text} of synchronous speed")
    if speed >= rating.speed:
        book.fault("protection.speed_switch", value, "the motor runs no faster than that", "choose a lower speed")
    return speed


def _sensitive(section: ProtectionSection, book: Book) -> bool:
    if section.phase_loss_sensitive is not None:
        return section.phase_loss_sensitive
    book.assumed_word("protection.phase_loss_sensitive", "true", f"relays of motors are, {_PRACTICE}")
    return True


def _current(value: Parsed | None, name: str, rating: Rating, book: Book) -> float | None:
    if value is None or value.unit == "A":
        return None if value is None else value.value
    return book.derived(name, value.value * rating.current, "A", f"{value.text} x rated current")


def _tolerance(section: ProtectionSection, book: Book) -> float:
    given = section.instantaneous_tolerance
    return 0.2 if given is None and section.instantaneous is None else (
        given.value if given is not None
        else book.assumed("protection.instantaneous_tolerance", 0.2, "pu", (0.1, 0.2), _TRIP)
    )  # fmt: skip


def _coil_busbar(section: ProtectionSection, path: SupplyPath, book: Book) -> str | None:
    names = [busbar.name for busbar in path.busbars]
    if section.coil_busbar is not None:
        if section.coil_busbar not in names:
            listed = ", ".join(f'"{name}"' for name in names)
            book.fault(
                "protection.coil_busbar", section.coil_busbar, "no busbar has this name", f"write one of {listed}"
            )
        return section.coil_busbar
    if section.hold_in_voltage is None:
        return None
    return book.assumed_word("protection.coil_busbar", names[-1], "the motor's own board feeds the coils")


def _hold_in(section: ProtectionSection, book: Book) -> float:
    if section.hold_in_voltage is not None:
        return section.hold_in_voltage.value
    if section.coil_busbar is None:
        return 0.75
    return book.assumed("protection.hold_in_voltage", 0.75, "pu", (0.2, 0.75), _COILS)


def _starter(section: SoftStarterRatingSection | None) -> StarterRating | None:
    if section is None:
        return None
    hourly = section.starts_per_hour
    return StarterRating(
        current=section.rated_current.value,
        ratio=section.current_ratio.value,
        seconds=section.start_time.value,
        starts_per_hour=None if hourly is None else hourly.value,
    )


_CONSTANT, _CONSTANT_RANGE, _USUAL_RISE, _AIR, _ROW = 600.0, (300.0, 1200.0), 375.0, 40.0, 2


def _usual_bank(thermal: ThermalStudy | None) -> BankRequest:
    """A bank of which nothing is said: heat capacity open; used by the ways that have one."""
    starts, rest = (_ROW, 0.0) if thermal is None else (thermal.starts, thermal.rest)
    return BankRequest(
        heat_capacity=None, time_constant=_CONSTANT, rise=_USUAL_RISE, ambient=_AIR, starts=starts, rest=rest
    )


def _bank(section: ResistorBankSection | None, thermal: ThermalStudy | None, book: Book) -> BankRequest:
    if section is None:
        return _usual_bank(thermal)

    def of(key: str, usual: float, unit: str, between: tuple[float, float], why: str) -> float:
        given: Parsed | None = getattr(section, key)
        name = f"protection.resistor_bank.{key}"
        return given.value if given is not None else book.assumed(name, usual, unit, between, why)

    starts, rest = section.starts_in_a_row, section.rest_time
    if starts is None:
        usual = _ROW if thermal is None else thermal.starts
        starts = int(book.assumed("protection.resistor_bank.starts_in_a_row", usual, "", (1, 3), _PRACTICE))
    return BankRequest(
        heat_capacity=None if section.heat_capacity is None else section.heat_capacity.value,
        time_constant=of("time_constant", _CONSTANT, "s", _CONSTANT_RANGE, f"grid and wire resistors, {_PRACTICE}"),
        rise=of("rise", _USUAL_RISE, "K", (300.0, 375.0), _RISE),
        ambient=of("ambient", _AIR, "degC", (20.0, 40.0), _PRACTICE),
        starts=starts,
        rest=rest.value if rest is not None else (0.0 if thermal is None else thermal.rest),
    )
