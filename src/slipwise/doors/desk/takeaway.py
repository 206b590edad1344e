"""Files to be taken home: figures, tables, curves, the report, all data; made by the same code as the command line's."""

from __future__ import annotations

import base64
import io
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, TypeVar

from slipwise.quantity.errors import InputError
from slipwise.results.study import StudyResult
from slipwise.study.assemble.book import plain_name

F = TypeVar("F", bound=str)
Tell = Callable[[str, float | None], None]
Made = tuple[str, str, bytes]  # name, media type, content
MEDIA = {
    "svg": "image/svg+xml",
    "png": "image/png",
    "pdf": "application/pdf",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "zip": "application/zip",
}


def made(result: StudyResult, asked: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """Name, media type and content of the file asked for.

    Raises:
        InputError: the study has no such figure or table, or it does not come in that format.
    """
    return _packed(*MAKERS[asked["what"]](result, asked, tell))


def bundle(text: str, name: str, files: Mapping[str, bytes]) -> dict[str, Any]:
    """The study and the files that it names in one archive. name: of the study file; one with folders counts as none."""
    plain = name if name.endswith(".toml") and plain_name(name) == name and name not in files else "study.toml"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for member, content in {plain: text.encode("utf-8"), **files}.items():
            archive.writestr(zipfile.ZipInfo(member, (2000, 1, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
    return _packed(f"{plain.removesuffix('.toml')}.zip", MEDIA["zip"], out.getvalue())


def _packed(name: str, media: str, content: bytes) -> dict[str, Any]:
    return {"name": name, "media_type": media, "base64": base64.b64encode(content).decode("ascii")}


def _figure(result: StudyResult, asked: Mapping[str, Any], tell: Tell) -> Made:
    from slipwise.present.figures import Look, catalogue
    from slipwise.present.figures.canvas import FORMATS, render

    kind = _one_of(asked["format"], FORMATS)
    entries = {entry.key: entry for entry in catalogue(result)}
    entry = entries.get(asked["key"])
    if entry is None:
        raise InputError.of("key", asked["key"], "this study has no such figure", f"take one of {', '.join(entries)}")
    look = Look(size=asked["size"], mode=asked["mode"])
    tell(f"figure: {entry.title}", None)
    return f"{entry.key}.{kind}", MEDIA[kind], render(entry.function(look), kind, look.dots)


def _table(result: StudyResult, asked: Mapping[str, Any], _tell: Tell) -> Made:
    from slipwise.present.export import csv_text
    from slipwise.present.tables_all import all_tables

    _one_of(asked["format"], ("csv",))
    found = dict(all_tables(result))
    if asked["key"] not in found:
        raise InputError.of("key", asked["key"], "this study has no such table", f"take one of {', '.join(found)}")
    name = asked["key"].replace("/", ".")
    return f"{name}.csv", MEDIA["csv"], csv_text(found[asked["key"]]).encode("utf-8")


def _curves(result: StudyResult, asked: Mapping[str, Any], tell: Tell) -> Made:
    """The steady characteristics of all ways and stages as CSV files in one archive."""
    _one_of(asked["format"], ("csv",))
    return _archive(result, tell, "curves", lambda path: path.name.startswith("curves"))


def _results(result: StudyResult, asked: Mapping[str, Any], tell: Tell) -> Made:
    """study.json and its CSV files in one archive."""
    _one_of(asked["format"], ("json",))
    return _archive(result, tell, "results", lambda _path: True)


def _archive(result: StudyResult, tell: Tell, name: str, wanted: Callable[[Path], bool]) -> Made:
    from slipwise.results.codec import to_json

    tell("data", None)
    out = io.BytesIO()
    with TemporaryDirectory(prefix="slipwise-") as place, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        folder = Path(place)
        (folder / "study.json").write_text(to_json(result, folder / "series"), encoding="utf-8", newline="\n")
        for path in sorted(folder.rglob("*")):
            if path.is_file() and wanted(path):
                archive.write(path, path.relative_to(folder).as_posix())
    return f"{name}.zip", MEDIA["zip"], out.getvalue()


def _report(result: StudyResult, asked: Mapping[str, Any], tell: Tell) -> Made:
    from datetime import date

    from slipwise.present.export import figure_bytes
    from slipwise.present.figures import Look
    from slipwise.present.report import report

    _one_of(asked["format"], ("pdf",))
    pictures = figure_bytes(result, Look(size="print"), lambda words: tell(words, None))
    tell("report", None)
    return "report.pdf", MEDIA["pdf"], report(result, pictures, day=date.today())


def _circuit(result: StudyResult, asked: Mapping[str, Any], _tell: Tell) -> Made:
    """key: `way` at rest, or `way/stage`; a way of stopping as `stop_way`."""
    from slipwise.present.diagrams import diagram

    _one_of(asked["format"], ("svg",))
    key, _, stage = asked["key"].partition("/")
    ways = {way.key: way.wiring for way in result.ways}
    ways |= {} if result.speed is None else {way.key: way.wiring for way in result.speed.ways}
    ways |= {} if result.stopping is None else {f"stop_{way.key}": way.wiring for way in result.stopping.ways}
    if key not in ways or not ways[key].devices:
        raise InputError.of("key", asked["key"], "this study has no such circuit", f"take one of {', '.join(ways)}")
    name = f"{key}.circuit.{stage}" if stage else f"{key}.circuit"
    return f"{name}.svg", MEDIA["svg"], diagram(ways[key], stage or None, asked["lettering"])


def _one_of(format: str, possible: tuple[F, ...]) -> F:
    for known in possible:
        if known == format:
            return known
    raise InputError.of("format", format, "it does not come in this format", f"take {' or '.join(possible)}")


MAKERS: Mapping[str, Callable[[StudyResult, Mapping[str, Any], Tell], Made]] = {
    "figure": _figure,
    "table": _table,
    "curves": _curves,
    "results": _results,
    "report": _report,
    "circuit": _circuit,
}
