"""The page on a narrow screen and from the last row: what is written stays legible."""

from __future__ import annotations

from itertools import combinations

from tests.browser.conftest import settled

BOXES = """async () => {
  const { chart } = desk.pages;
  await chart.ready;
  await new Promise((done) => { setTimeout(done, 150); });
  return [...chart.over.querySelectorAll("text")].map((one) => {
    const { x, y, width, height } = one.getBBox();
    return [one.textContent, x, y, width, height];
  });
}"""


def test_no_two_labels_of_the_relay_chart_overlap(page):
    """At 1000 and at 800 pixels in width every text of the time-current picture stands clear of every other."""
    try:
        page.evaluate("desk.desk.tell('view', 'heat')")
        for width in (1000, 800):
            page.set_viewport_size({"width": width, "height": 768})
            page.evaluate("desk.desk.pick('star_delta')")
            settled(page)
            page.evaluate("desk.desk.tell('view', 'heat')")
            texts = page.evaluate(BOXES)
            assert len(texts) > 8
            for (one, x, y, w, h), (two, u, v, b, d) in combinations(texts, 2):
                aside, above = x + w <= u + 1 or u + b <= x + 1, y + h <= v + 3 or v + d <= y + 3
                assert aside or above, (width, one, two)
    finally:
        page.set_viewport_size({"width": 1366, "height": 768})


def test_the_circuit_is_legible_from_the_last_row(page):
    """In a lecture the smallest letter of a star-delta and of an autotransformer circuit is at least 1/40 of the height."""
    for way in ("star_delta", "autotransformer"):
        page.evaluate("way => desk.desk.pick(way)", way)
        page.evaluate("() => { desk.lecture.toggle(true); desk.lecture.shows('circuit'); }")
        settled(page)
        letter, height = page.evaluate(LETTER, way)
        assert letter >= height / 40


LETTER = """async (way) => {
  const { askPicture } = await import("/static/api.js");
  const { lettering } = await import("/static/circuit.js");
  const image = document.querySelector(".circuit img");
  const drawn = await askPicture("circuit", { ...desk.desk.state, way, stage: null, lettering: lettering() });
  const text = await drawn.text();
  const size = Math.min(...[...text.matchAll(/font-size="([\\d.]+)"/g)].map(([, one]) => Number(one)));
  await image.decode();
  const scale = Math.min(image.clientWidth / image.naturalWidth, image.clientHeight / image.naturalHeight);
  return [size * scale, innerHeight];
}"""
