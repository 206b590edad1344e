"""Figures drawn by two processes: the same bytes in the same order, and all of them when the second one falls over."""

from __future__ import annotations

import pytest
from matplotlib.figure import Figure

from slipwise.present.figures import Entry, Look, apart, catalogue
from tests.behaviour.sample_result import sample

LOOK = Look(size="print")


def entries() -> list[Entry]:
    return catalogue(sample())[:4]


def silent(_words: str) -> None:
    return None


def test_same_bytes_in_the_same_order() -> None:
    alone = list(apart.draw_each(entries(), ("svg",), LOOK, silent))
    second = apart.Helper(entries(), ("svg",), LOOK)
    try:
        last = len(alone) - 1
        assert second.wait(last) == alone[last][1]  # it has delivered, so what follows is drawn by both
        together = list(apart.draw_each(entries(), ("svg",), LOOK, silent, second))
    finally:
        second.stop()
    assert [entry.key for entry, _ in together] == [entry.key for entry, _ in alone]
    assert [drawn for _, drawn in together] == [drawn for _, drawn in alone]


def test_all_are_drawn_when_the_second_process_ends_early() -> None:
    second = apart.Helper(entries(), ("svg",), LOOK)
    second.stop()
    drawn = list(apart.draw_each(entries()[:2], ("svg",), LOOK, silent, second))
    assert [entry.key for entry, _ in drawn] == [entry.key for entry in entries()[:2]]
    assert all(b"<svg" in one["svg"] for _, one in drawn)


def test_what_cannot_be_sent_is_drawn_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "MANY", 1)
    monkeypatch.setattr(apart, "_processors", lambda: 2)
    first = entries()[0]

    def inner(look: Look) -> Figure:
        return first.function(look)

    found = [Entry(first.key, first.title, inner)]
    with apart.helper(found, ("svg",), LOOK) as second:
        assert second is None
        assert [entry for entry, _ in apart.draw_each(found, ("svg",), LOOK, silent, second)] == found


@pytest.mark.parametrize("processors", [1, 2])
def test_helps_only_where_there_is_a_second_processor(monkeypatch: pytest.MonkeyPatch, processors: int) -> None:
    monkeypatch.setattr(apart, "MANY", 1)
    monkeypatch.setattr(apart, "_processors", lambda: processors)
    with apart.helper(entries(), ("svg",), LOOK) as second:
        assert (second is not None) == (processors > 1)


def falls(_look: Look) -> Figure:
    raise ArithmeticError("this one cannot be drawn")


def test_a_broken_figure_is_an_error_as_ever() -> None:
    broken = [*entries()[:1], Entry("broken", "broken", falls)]
    second = apart.Helper(broken, ("svg",), LOOK)
    try:
        with pytest.raises(ArithmeticError):
            list(apart.draw_each(broken, ("svg",), LOOK, silent, second))
    finally:
        second.stop()
