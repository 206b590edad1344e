"""Published limits of the supply, as the package carries them and as rows decide on them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from slipwise.data import table
from slipwise.identify.records import Plate
from slipwise.identify.rows import full_load_rows
from slipwise.limits.harmonics import coupling, harmonic_rows, harmonic_voltages
from slipwise.limits.running_voltage import published_deviation, running_voltage
from slipwise.limits.voltage_change import change_rows, time_above
from slipwise.model.supply.path import Busbar, ChangeLimits
from slipwise.quantity.errors import InputError
from slipwise.results.criteria import Status
from slipwise.results.speed import Harmonic
from slipwise.results.start import Outcome, RunUp
from slipwise.study.reader import loads
from tests.hand_made import run_up
from tests.reference import from_reference, reference
from tests.speed_studies import point
from tests.studies import motor, path

PUMP = (Path(__file__).parents[2] / "examples" / "pump_p3.toml").read_text(encoding="utf-8")


def on(*volts: float) -> RunUp:
    """A start that arrives, the only busbar going through these voltages, a second from one to the next."""
    plain = run_up()
    time = np.arange(len(volts), dtype=float)
    rest = {name: np.zeros(time.size) for name in ("speed", "torque", "load", "line_current", "motor_current")}
    more = {name: np.zeros(time.size) for name in ("winding_current", "power_factor")}
    return replace(
        plain,
        outcome=Outcome.ARRIVED,
        time=time,
        busbars=("board",),
        busbar_voltage=np.array([volts]),
        prestart_voltage=np.array([1.0]),
        **rest,
        **more,
    )


@from_reference("C-nema-volt-freq")
@pytest.mark.parametrize(
    ("volts", "status"),
    [
        (0.93, Status.PASSES),
        (0.904, Status.CONDITION),
        (0.89, Status.FAILS),
        (1.07, Status.PASSES),
        (1.11, Status.FAILS),
    ],
)
def test_the_running_voltage_stays_in_the_published_band(volts: float, status: Status) -> None:
    """Ten per cent either way at rated frequency, where the sum of both deviations asks for no more."""
    printed = reference("C-nema-volt-freq")["expected"]
    limit = published_deviation()
    assert limit.value is not None
    assert 100 * limit.value == printed["voltage_percent"] == printed["combined_sum_abs_percent"]
    (row,) = running_voltage({"nominal": on(0.8, volts)}, 1.0, limit)
    assert row.status is status
    assert "NEMA MG 1" in row.source
    assert running_voltage({"nominal": replace(on(volts), outcome=Outcome.HANGS)}, 1.0, limit) == ()


def limited(line: str, starting: str = "") -> ChangeLimits:
    """The limits of the main board of the pump study with that line, and its greatest dip."""
    text = PUMP.replace('dip_limit = "7 %"', line).replace("starts_per_hour = 3", f"starts_per_hour = 3\n{starting}")
    study = loads(text)
    board = study.supply.nominal.busbars[1]
    assert board.changes is not None
    assert board.dip_limit is not None
    given = 'restart = "' in starting
    assert ("starting.restart" in [r.name for r in study.inputs if r.origin.value == "assumed"]) != given
    return replace(board.changes, source=f"{100 * board.dip_limit:g}")


@from_reference("C-61000-3-3")
@pytest.mark.parametrize(
    ("starting", "which"),
    [
        ("", "no_condition"),
        ('restart = "at once"\nstarts_per_day = 1', "no_condition"),
        ('restart = "by hand"', "manual_or_delayed_restart_more_than_twice_a_day"),
        ('restart = "delayed"\nstarts_per_day = 3', "manual_or_delayed_restart_more_than_twice_a_day"),
        ('restart = "delayed"\nstarts_per_day = 2', "attended_or_not_more_than_twice_a_day"),
    ],
)
def test_voltage_changes_are_limited_by_the_starts_a_day(starting: str, which: str) -> None:
    """The greatest change by restart and number of starts, the lasting one and its half second."""
    printed = reference("C-61000-3-3")["expected"]
    found = limited('change_limits = "IEC 61000-3-3"', starting)
    assert float(found.source) == pytest.approx(printed["d_max_percent"][which])
    assert 100 * found.steady == pytest.approx(printed["d_c_max_percent"])
    assert 1e3 * found.seconds == pytest.approx(printed["d_t_above_3.3_percent_max_ms"])


def test_a_standard_for_low_voltage_is_refused_elsewhere_and_beside_another_limit() -> None:
    """Named with the busbar's voltage; and with the limit that stands there already."""
    with pytest.raises(InputError, match=r"low-voltage networks, and this busbar has 11.kV"):
        loads(PUMP.replace('dip_limit = "3 %"', 'change_limits = "IEC 61000-3-3"'))
    with pytest.raises(InputError, match="sets that limit already"):
        loads(PUMP.replace('dip_limit = "7 %"', 'dip_limit = "7 %"\nchange_limits = "IEC 61000-3-3"'))


def test_time_above_a_level_is_cut_where_the_voltage_crosses_it() -> None:
    """A dip of 6 % that comes in one second and goes in two is above 3 % for 0.5 + 1 s; one that stays counts to the end."""
    run = on(1.0, 0.94, 0.97, 1.0)
    assert time_above(run, 0, 0.03) == pytest.approx(1.5)
    assert time_above(on(0.94, 0.94, 0.94), 0, 0.03) == pytest.approx(2.0)
    assert time_above(run, 0, 0.061) == 0.0
    limits = ChangeLimits(steady=0.03, seconds=0.5, source="")
    lasting, long = change_rows({"nominal": run}, (Busbar(name="board", nominal=400.0, changes=limits),))
    assert (lasting.value, lasting.status) == (0.0, Status.PASSES)
    assert (long.value, long.status) == (pytest.approx(1.5), Status.FAILS)


BANDS = {"<=1kV": 400.0, "1-69kV": 11e3, "69-161kV": 110e3, ">161kV": 220e3}


@from_reference("C-ieee519-v")
@pytest.mark.parametrize("band", BANDS)
def test_voltage_distortion_is_limited_by_the_voltage_of_the_coupling_point(band: str) -> None:
    """Single order and total, printed by voltage; U_h = h (I_h / I_sc) on a path without resistance."""
    bare = path(0.04j)
    bar = replace(bare.links[0].busbar, nominal=BANDS[band])
    place = coupling(replace(bare, links=(replace(bare.links[0], busbar=bar), *bare.links[1:])), 0, 100.0)
    assert place is not None
    drawn = point("a", 1e3, 1, harmonics=(Harmonic(order=5, current=20.0), Harmonic(order=7, current=14.0)))
    short = bare.voltage / 3**0.5 / 0.04
    shares = dict(harmonic_voltages(drawn, place))
    assert shares == pytest.approx({5: 5 * 20.0 / short, 7: 7 * 14.0 / short})
    single, total = harmonic_rows([drawn], place)[2:]
    assert [100 * single.limit, 100 * total.limit] == pytest.approx(reference("C-ieee519-v")["expected"][band])
    assert single.value == pytest.approx(100 / short)
    assert total.value == pytest.approx((100**2 + 98**2) ** 0.5 / short)


@from_reference("C-nec-flc")
def test_full_load_currents_stand_beside_the_plate() -> None:
    """Every rating of the table, for a motor of that power at 460 V and 60 Hz; none at 50 Hz or another voltage."""
    printed = reference("C-nec-flc")["expected"]
    assert {f"{row['power_hp']:g}": row["current_A"] for row in table("full_load_currents").rows} == printed
    rating = replace(motor().rating, power=100 * 745.7, voltage=460.0, frequency=60.0)
    hundred = motor(rating=rating)
    plate = Plate(
        power=rating.power,
        voltage=460.0,
        frequency=60.0,
        poles=4,
        connection="delta",
        speed=rating.speed,
        current=118.0,
    )
    (row,) = full_load_rows(plate, hundred)
    assert (row.plate, row.model) == (118.0, printed["100"])
    assert full_load_rows(plate, replace(hundred, rating=replace(rating, frequency=50.0))) == ()
    assert full_load_rows(plate, replace(hundred, rating=replace(rating, voltage=400.0))) == ()
    assert full_load_rows(plate, replace(hundred, rating=replace(rating, power=90 * 745.7))) == ()
