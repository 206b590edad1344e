"""Ways under the names that the trade gives them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from slipwise.methods.speed import SPEED
from slipwise.methods.starting import STARTING
from slipwise.methods.stopping import STOPPING
from slipwise.quantity.errors import InputError
from slipwise.study.reader import loads
from slipwise.study.schema.names import also_called, meant

PUMP = (Path(__file__).parents[2] / "examples" / "pump_p3.toml").read_text(encoding="utf-8")
LISTS: dict[str, tuple[Any, ...]] = {"starting": STARTING, "speed": SPEED, "stopping": STOPPING}


@pytest.mark.parametrize("section", LISTS)
def test_every_other_name_leads_to_its_way(section: str) -> None:
    """However it is written; and no other name is that of another way."""
    ways = LISTS[section]
    known, also = tuple(way.key for way in ways), also_called(ways)
    for way in ways:
        assert way.also
        for word in (*way.also, way.title):
            for written in (word, word.upper(), word.replace(" ", "_")):
                assert way.key in meant(written, known, also), word
        assert meant(way.key.replace("_", "-"), known, also) == (way.key,)
    assert not {word for way in ways for word in way.also} & set(known)


def words(text: str) -> str:
    with pytest.raises(InputError) as caught:
        loads(text)
    return str(caught.value)


@pytest.mark.parametrize(
    ("written", "answer"),
    [
        ('"vfd"', '"inverter"?'),
        ('"DOL"', '"direct"?'),
        ('"Korndörfer"', '"autotransformer"?'),
        ('"wye delta"', '"star_delta"?'),
        ('"dol", "soft start"', '"direct" for "dol", "soft_starter" for "soft start"?'),
        ('"steam"', 'write ["direct", "star_delta", "part_winding"]'),
    ],
)
def test_a_trade_name_is_answered_with_that_of_the_file(written: str, answer: str) -> None:
    """In the list of ways; what is like none gets the list."""
    assert answer in words(PUMP.replace('"direct", "star_delta", "autotransformer"', written))


def test_one_word_for_two_ways_names_both() -> None:
    """Dynamic braking is done with direct current or with a resistor on an inverter."""
    assert '"dc_injection" or "braking_resistor"?' in words(f'{PUMP}\n[stopping]\nways = ["dynamic braking"]\n')


def test_a_table_under_a_trade_name_too() -> None:
    """Settings of a way that the file knows under another name."""
    assert "did you mean `inverter`?" in words(f'{PUMP}\n[starting.vfd]\nramp_time = "8 s"\n')
