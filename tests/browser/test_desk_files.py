"""Studies that name other files, in a real browser: dropped together or one after the other, kept, and taken home again."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path
from typing import TYPE_CHECKING

from tests.browser.desk import field, station

if TYPE_CHECKING:
    from playwright.sync_api import Page

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
MOTOR = "group.motor[3].study"
DROP = """async (files) => {
  const carried = new DataTransfer();
  for (const [name, base64] of files) {
    carried.items.add(new File([Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0))], name));
  }
  window.dispatchEvent(new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true }));
}"""

UNTIL = """async (text) => {
  const there = () => window.desk?.desk.study.text === text && window.desk.desk.files.length === 1;
  while (!there()) await new Promise((done) => { setTimeout(done, 20); });
}"""


def drop(page: Page, **files: bytes) -> None:
    """Drops files together; names with `_` in place of the dot."""
    named = [(".".join(name.rsplit("_", 1)), b64encode(content).decode()) for name, content in files.items()]
    page.evaluate(DROP, named)


def test_files_that_a_study_names_are_handed_over(page):
    """One missing is asked for beside its value; dropped, the study is read; archive and reload bring both back."""
    group, pump = ((EXAMPLES / name).read_bytes() for name in ("waterworks_w1.toml", "pump_p3.toml"))
    drop(page, waterworks_w1_toml=group)
    station(page, "Group")
    row = field(page, MOTOR)
    row.locator(".error").wait_for()
    assert "not at hand" in row.locator(".error").inner_text()
    assert row.get_by_role("button", name="Choose pump_p3.toml").is_visible()
    drop(page, pump_p3_toml=pump)
    row.get_by_text("at hand,").wait_for()
    assert "at hand, 2 kB" in row.inner_text()
    assert page.locator("#fields .error:visible").count() == 0
    page.get_by_role("button", name="Export").click()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="ZIP", exact=True).click()
    page.get_by_role("button", name="Close").click()
    archive = Path(waiting.value.path()).read_bytes()
    page.reload()
    page.evaluate(UNTIL, group.decode())
    page.evaluate("desk.files.open(desk.files.studies[0].text, 'pump.toml')")
    assert page.evaluate("desk.desk.files.length") == 0
    drop(page, works_zip=archive)
    page.evaluate(UNTIL, group.decode())
    assert page.evaluate("[...desk.desk.study.files.keys()]") == ["pump_p3.toml"]


def test_a_large_file_travels_once(page):
    """A content the server has seen goes by its hash; a process that does not keep it is sent it again, and nobody notices."""
    carried, faults = page.evaluate(
        """async () => {
          const { ask } = await import("/static/api.js");
          const { companion } = await import("/static/companions.js");
          const file = await companion(new File(["# " + "x".repeat(60000)], "a.toml"));
          const bodies = [];
          const real = window.fetch;
          window.fetch = (url, init) => { bodies.push("base64" in JSON.parse(init.body).files[0]); return real(url, init); };
          const faults = [];
          const question = { text: "a = 1", edits: [], files: [file] };
          for (let k = 0; k < 6; k += 1) faults.push((await ask("fields", question)).faults[0].field);
          window.fetch = real;
          return [bodies, faults];
        }"""
    )
    assert "files.base64" not in faults
    assert len(faults) == 6
    assert carried[0]
    assert not carried[-1]
