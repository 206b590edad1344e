"""Question and Test Interoperability: a package of items and one test a student, for a learning platform.

Every problem of a paper is one item with a number to enter for each part; it scores the marks of a part when the number
lies within the tolerance, or within that of the full computation where the key uses a short formula. Following through a
slip is beyond the format: `slipwise teach mark` does that.

Source: IMS Global, Question and Test Interoperability 2.1 and 2.2, assessment test, section and item information model;
IMS Global, Content Packaging 1.1 (namespaces, resource types and package names from memory).
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from slipwise import __version__
from slipwise.quantity.errors import InputError
from slipwise.quantity.notation import significant, symbol_of
from slipwise.teach.problems.draw import in_unit
from slipwise.teach.problems.model import Part, Variant
from slipwise.teach.sheet import Paper, Sheet, letter, tolerance_of
from slipwise.teach.sheet_words import Piece, joined, pieces

Element = Any
"""One of lxml's; its types are not published."""
STAMP = (1980, 1, 1, 0, 0, 0)
"""Of every file in the package: the same sheet gives the same bytes."""
XSI = "http://www.w3.org/2001/XMLSchema-instance"
PACKAGING = "http://www.imsglobal.org/xsd/imscp_v1p1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """The names of one version. space: namespace; schema: address of the public schema; kind: in resource types."""

    space: str
    schema: str
    kind: str
    package: str


EDITIONS = {
    "2.1": Edition(
        space="http://www.imsglobal.org/xsd/imsqti_v2p1",
        schema="http://www.imsglobal.org/xsd/qti/qtiv2p1/imsqti_v2p1.xsd",
        kind="xmlv2p1",
        package="QTIv2.1 Package",
    ),
    "2.2": Edition(
        space="http://www.imsglobal.org/xsd/imsqti_v2p2",
        schema="http://www.imsglobal.org/xsd/qti/qtiv2p2/imsqti_v2p2.xsd",
        kind="xmlv2p2",
        package="QTIv2.2 Package",
    ),
}


def package(sheet: Sheet, chosen: Sequence[Paper], version: str) -> bytes:
    """The package as a zip file: imsmanifest.xml, a test for every student, and the items; the same bytes every time.

    Raises:
        ValueError: an unknown version.
        InputError: lxml is not installed.
    """
    if version not in EDITIONS:
        raise ValueError(f"QTI {version!r} is not one of {', '.join(EDITIONS)}")
    edition = EDITIONS[version]
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in documents(sheet, chosen, edition):
            entry = zipfile.ZipInfo(name, date_time=STAMP)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return held.getvalue()


def documents(sheet: Sheet, chosen: Sequence[Paper], edition: Edition) -> Iterator[tuple[str, bytes]]:
    """Every file of the package, by name; the manifest first."""
    yield "imsmanifest.xml", _written(_manifest(sheet, chosen, edition))
    for paper in chosen:
        yield f"{_test_name(paper)}.xml", _written(_test(sheet, paper, edition))
        for number, found in enumerate(paper.variants, 1):
            yield f"{_item_name(paper, number)}.xml", _written(_item(sheet, paper, number, found, edition))


def _test_name(paper: Paper) -> str:
    return f"test_{_plain(paper.student.key)}"


def _item_name(paper: Paper, number: int) -> str:
    return f"item_{_plain(paper.student.key)}_{number}"


def _plain(key: str) -> str:
    """A student's key without full stops, which part item from variable in identifiers; no two keys become one."""
    return key.replace("_", "_u").replace(".", "_d")


def _root(space: str, name: str, places: str, **attributes: str) -> Element:
    try:
        from lxml import etree
    except ImportError:
        remedy = "install slipwise[teach], or write none with --qti none"
        raise InputError.of("--qti", "", "the packages need lxml, which is not installed", remedy) from None
    root = etree.Element(f"{{{space}}}{name}", nsmap={None: space, "xsi": XSI})
    root.set(f"{{{XSI}}}schemaLocation", places)
    for key, value in attributes.items():
        root.set(key, value)
    return root


def _under(parent: Element, name: str, text: str = "", **attributes: str) -> Element:
    """A new element at the end of another, in its namespace."""
    from lxml import etree

    space = etree.QName(parent).namespace
    made = etree.SubElement(parent, f"{{{space}}}{name}", attributes)
    made.text = text or None
    return made


def _written(root: Element) -> bytes:
    from lxml import etree

    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return made


def _tool(sheet: Sheet) -> dict[str, str]:
    return {"title": sheet.title, "toolName": "slipwise", "toolVersion": __version__}


def _manifest(sheet: Sheet, chosen: Sequence[Paper], edition: Edition) -> Element:
    root = _root(PACKAGING, "manifest", f"{PACKAGING} {PACKAGING}.xsd", identifier=f"sheet_{sheet.seed}")
    about = _under(root, "metadata")
    _under(about, "schema", edition.package)
    _under(about, "schemaversion", "1.0.0")
    _under(root, "organizations")
    resources = _under(root, "resources")
    for paper in chosen:
        items = [_item_name(paper, number) for number in range(1, len(paper.variants) + 1)]
        test = _resource(resources, _test_name(paper), f"imsqti_test_{edition.kind}")
        for name in items:
            _under(test, "dependency", identifierref=name)
        for name in items:
            _resource(resources, name, f"imsqti_item_{edition.kind}")
    return root


def _resource(resources: Element, name: str, kind: str) -> Element:
    made = _under(resources, "resource", identifier=name, type=kind, href=f"{name}.xml")
    _under(made, "file", href=f"{name}.xml")
    return made


def _test(sheet: Sheet, paper: Paper, edition: Edition) -> Element:
    places = f"{edition.space} {edition.schema}"
    root = _root(edition.space, "assessmentTest", places, identifier=_test_name(paper), **_tool(sheet))
    _under(root, "outcomeDeclaration", identifier="SCORE", cardinality="single", baseType="float")
    part = _under(root, "testPart", identifier="paper", navigationMode="nonlinear", submissionMode="simultaneous")
    section = _under(part, "assessmentSection", identifier="problems", title=sheet.title, visible="true")
    for number in range(1, len(paper.variants) + 1):
        name = _item_name(paper, number)
        _under(section, "assessmentItemRef", identifier=name, href=f"{name}.xml")
    total = _under(_under(root, "outcomeProcessing"), "setOutcomeValue", identifier="SCORE")
    _under(_under(total, "sum"), "testVariables", variableIdentifier="SCORE")
    return root


def _item(sheet: Sheet, paper: Paper, number: int, found: Variant, edition: Edition) -> Element:
    places = f"{edition.space} {edition.schema}"
    names = {**_tool(sheet), "title": f"{number} {found.problem.title}"}
    fixed = {"adaptive": "false", "timeDependent": "false"}
    root = _root(edition.space, "assessmentItem", places, identifier=_item_name(paper, number), **names, **fixed)
    for place, part in enumerate(found.problem.parts):
        declared = _under(
            root, "responseDeclaration", identifier=_response(place), cardinality="single", baseType="float"
        )
        _under(_under(declared, "correctResponse"), "value", _figure(in_unit(found.answer(part), part.unit)))
    for name, value in (("SCORE", 0), ("MAXSCORE", found.problem.marks)):
        declared = _under(root, "outcomeDeclaration", identifier=name, cardinality="single", baseType="float")
        if name == "SCORE":
            declared.set("normalMaximum", str(found.problem.marks))
        _under(_under(declared, "defaultValue"), "value", str(value))
    _body(root, found)
    processing = _under(root, "responseProcessing")
    for place, part in enumerate(found.problem.parts):
        _scored(processing, place, part, found, tolerance_of(part, sheet.marking))
    return root


def _response(place: int) -> str:
    return f"PART_{letter(place).upper()}"


def _figure(value: float) -> str:
    """Six figures, in digits that every reader of numbers takes."""
    return significant(value, 6).replace("\u2212", "-")


def _body(root: Element, found: Variant) -> None:
    body = _under(root, "itemBody")
    _run(_under(body, "p"), pieces(found.problem.text, found))
    for place, part in enumerate(found.problem.parts):
        line = _under(body, "p")
        _say(line, f"{letter(place)}) ")
        _run(line, pieces(part.ask, found))
        _say(line, f" ({part.marks} mark{'' if part.marks == 1 else 's'}) ")
        _under(line, "textEntryInteraction", responseIdentifier=_response(place), expectedLength="12")
        if part.unit:
            _say(line, joined("", part.unit))


def _say(parent: Element, text: str) -> None:
    """Text after what is already there."""
    children = list(parent)
    if children:
        children[-1].tail = (children[-1].tail or "") + text
    else:
        parent.text = (parent.text or "") + text


def _run(parent: Element, found: Iterator[Piece]) -> None:
    """Text and symbols; a symbol in italics with its index below."""
    for piece in found:
        if piece.text:
            _say(parent, piece.text)
            continue
        symbol = symbol_of(piece.symbol)
        _under(parent, "span" if symbol.word else "i", symbol.base + ("\u2032" if symbol.prime else ""))
        if symbol.sub:
            _under(parent, "sub", symbol.sub)


def _scored(processing: Element, place: int, part: Part, found: Variant, tolerance: float) -> None:
    """The marks of a part, when the number entered is near the key or near the full computation."""
    condition = _under(processing, "responseCondition")
    right = _under(condition, "responseIf")
    near = _near(right, in_unit(found.answer(part), part.unit) * tolerance)
    _under(near, "correct", identifier=_response(place))
    _under(near, "variable", identifier=_response(place))
    _award(right, part.marks)
    if part.find in found.exact:
        full = in_unit(found.exact[part.find], part.unit)
        also = _under(condition, "responseElseIf")
        near = _near(also, full * tolerance)
        _under(near, "baseValue", _figure(full), baseType="float")
        _under(near, "variable", identifier=_response(place))
        _award(also, part.marks)


def _near(parent: Element, width: float) -> Element:
    size = _figure(abs(width))
    return _under(parent, "equal", toleranceMode="absolute", tolerance=f"{size} {size}")


def _award(parent: Element, marks: int) -> None:
    total = _under(_under(parent, "setOutcomeValue", identifier="SCORE"), "sum")
    _under(total, "variable", identifier="SCORE")
    _under(total, "baseValue", str(marks), baseType="float")
