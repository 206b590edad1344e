"""From `[group]` to the motors on the common path, each as a study of its own on its part of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from slipwise.model.supply.impedance import cable_impedance
from slipwise.model.supply.path import Busbar, Link, SupplyCases, SupplyPath
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.study.assemble.book import Book, StopError
from slipwise.study.model import GroupMember, GroupStudy, Study
from slipwise.study.request import WayRequest
from slipwise.study.schema.group import GroupMotorSection, GroupSection

Other = Callable[[Path], Study]
_PRACTICE = "common practice, no source"
_PAUSE, _REACTANCE = 2.0, 0.08e-3  # s; ohm/m


def build_group(section: GroupSection | None, study: Study, book: Book, other: Other) -> GroupStudy | None:
    """The group; None when the file has no `[group]`.

    Args:
        study: of the file itself: its path is the common one.
        other: reads the study of another file, without a group of its own.

    Raises:
        InputError: a motor cannot be placed, or its file cannot be read.
    """
    if section is None:
        return None
    _distinct(section, book)
    read: dict[str, Study] = {}
    members = [_member(k, motor, study, book, other, read) for k, motor in enumerate(section.motor, start=1)]
    if book.faults:
        raise StopError(*book.faults)
    why = f"so that one start is over before the next; {_PRACTICE}"
    pause = section.pause.value if section.pause else book.assumed("group.pause", _PAUSE, "s", (0.5, 10.0), why)
    dip = None if section.dip is None else (section.dip.remaining.value, section.dip.duration.value)
    return GroupStudy(members=tuple(m for m in members if m is not None), pause=pause, dip=dip)


def _distinct(section: GroupSection, book: Book) -> None:
    seen: dict[str, int] = {}
    for place, motor in enumerate(section.motor, start=1):
        if motor.name in seen:
            reason = f"motor {seen[motor.name]} has that name"
            book.fault(f"group.motor[{place}].name", f'"{motor.name}"', reason, "give every motor its own name")
        seen.setdefault(motor.name, place)


def _member(
    number: int, section: GroupMotorSection, study: Study, book: Book, other: Other, read: dict[str, Study]
) -> GroupMember | None:
    where = f"group.motor[{number}]"
    own = study if section.study is None else _other(where, section.study, book, other, read)
    place = _place(where, section, study, book)
    if own is None or place is None:
        return None
    _check_voltage(where, own, study, place, book)
    if section.running == "yes" and section.switch_on is not None:
        book.fault(f"{where}.switch_on", section.switch_on, "it runs already", "leave out one of the two")
    branch = 0j
    if section.cable is not None:
        name = f"{where}.cable.reactance"
        why = f"low-voltage cable, {_PRACTICE}"
        given = section.cable.reactance
        reactance = given.value if given else book.assumed(name, _REACTANCE, "ohm/m", (0.07e-3, 0.1e-3), why)
        branch = cable_impedance(section.cable.resistance.value, reactance, section.cable.length.value, 1)
    drop_out = section.drop_out.value if section.drop_out else 0.0
    if section.drop_out is None:
        book.assumed_word(f"{where}.drop_out", "none", "its contactor is taken to hold at any voltage")
    return GroupMember(
        name=section.name,
        study=replace(own, supply=_up_to(study.supply, place, section.name, branch)),
        way=_way(where, section, own, book),
        place=place,
        branch=branch,
        switch_on=None if section.switch_on is None else section.switch_on.value,
        running=section.running == "yes",
        drop_out=drop_out,
    )


def _other(where: str, name: str, book: Book, other: Other, read: dict[str, Study]) -> Study | None:
    """The study of the file that is named, read once however many motors are like it."""
    if book.files is not None:
        found = book.held(f"{where}.study", name)
        if found is None:
            return None
        name = found
    elif not book.folder:
        book.fault(
            f"{where}.study", f'"{name}"', "this study has no folder to look in", "save it beside that file first"
        )
        return None
    if name not in read:
        try:
            read[name] = other(Path(book.folder) / name)
        except InputError as error:
            first = error.faults[0]
            more = f" (and {len(error.faults) - 1} more)" if len(error.faults) > 1 else ""
            reason = f"in that file: {first.field}: {first.reason}{more}"
            book.fault(f"{where}.study", f'"{name}"', reason, first.remedy)
            return None
    return read[name]


def _place(where: str, section: GroupMotorSection, study: Study, book: Book) -> int | None:
    names = [bar.name for bar in study.supply.nominal.busbars]
    if section.busbar is None:
        return len(names) - 1
    if section.busbar not in names:
        listed = ", ".join(f'"{name}"' for name in names)
        book.fault(
            f"{where}.busbar", f'"{section.busbar}"', "the supply path has no such busbar", f"write one of {listed}"
        )
        return None
    return names.index(section.busbar)


def _check_voltage(where: str, own: Study, study: Study, place: int, book: Book) -> None:
    """The motor fits the busbar, and the busbar is at the level to which the path is reckoned."""
    bar, path, rating = study.supply.nominal.busbars[place], study.supply.nominal, own.motor.rating
    if abs(bar.referral - 1) > 1e-9:
        reason = "it is not on the voltage level of this file's own motor"
        book.fault(f"{where}.busbar", f'"{bar.name}"', reason, "group motors behind the same transformer")
    elif not 0.8 <= bar.nominal / rating.voltage <= 1.25:
        reason = f"the motor is for {show(rating.voltage, 'V')}, the busbar has {show(bar.nominal, 'V')}"
        book.fault(f"{where}.busbar", f'"{bar.name}"', reason, "name another busbar or motor")
    elif abs(rating.frequency / path.frequency - 1) > 1e-6:
        reason = f"the motor is for {show(rating.frequency, 'Hz')}, the path has {show(path.frequency, 'Hz')}"
        book.fault(f"{where}.study", "", reason, "name another motor")


def _up_to(cases: SupplyCases, place: int, name: str, branch: complex) -> SupplyCases:
    """The common path as far as the motor's busbar, and its own cable behind it."""

    def cut(path: SupplyPath) -> SupplyPath:
        links = path.links[: place + 1]
        if branch:
            bar = Busbar(name=f"{name} starter", nominal=links[-1].busbar.nominal)
            links = (*links, Link(name=bar.name, kind="cable", impedance=branch, busbar=bar))
        return replace(path, links=links)

    return SupplyCases(nominal=cut(cases.nominal), weak=cut(cases.weak), strong=cut(cases.strong))


def _way(where: str, section: GroupMotorSection, own: Study, book: Book) -> WayRequest:
    """The way of starting: as named, with the settings that its own file gives it."""
    given = {request.key: request for request in own.ways}
    if section.way is not None:
        return given.get(section.way, WayRequest(key=section.way, given={}))
    only = next(iter(given)) if len(given) == 1 else "direct"
    why = "the only way its file asks for" if len(given) == 1 else f"the simplest way; {_PRACTICE}"
    book.assumed_word(f"{where}.way", only, why)
    return given.get(only, WayRequest(key=only, given={}))
