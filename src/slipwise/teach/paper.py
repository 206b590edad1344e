"""A printed page of the classroom: title, blocks, footer, typeset by the template of the report."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from slipwise import __version__
from slipwise.present.report.blocks import Block, Images
from slipwise.present.report.build import FOOTER, typeset
from slipwise.study.cautions import all_cautions


def document(
    title: str, kind: str, blocks: Iterable[Block], *, description: str = "", day: date | None = None
) -> dict[str, Any]:
    """What the template is given.

    Args:
        title: at the head. kind: what it is, such as "Handout", under the title.
        blocks: of `present.report.blocks`.
        description: kept in the file for readers aloud; the kind when empty.
        day: printed in the head of each page; None prints none.
    """
    version = f"slipwise {__version__}"
    printed = f"{day.day} {day:%B %Y}" if day else ""
    return {
        "title": title,
        "description": description or kind,
        "subtitle": "   ·   ".join(part for part in (kind, f"Computed by {version}", printed) if part),
        "version": version,
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": printed,
        "footer": FOOTER,
        "blocks": list(blocks),
    }


def paper(
    title: str,
    kind: str,
    blocks: Iterable[Block],
    *,
    description: str = "",
    images: Images | None = None,
    day: date | None = None,
) -> bytes:
    """The page or pages as PDF, tagged for screen readers; the same bytes for the same arguments on one machine.

    images: the pictures the blocks name. Without a day the file is not fit for archives. Other arguments as `document`.

    Raises:
        RuntimeError: the typesetting failed.
    """
    return typeset(document(title, kind, blocks, description=description, day=day), images or Images(), day)


def cautions(*keys: str) -> tuple[str, ...]:
    """Texts of the table of cautions by their keys, with their basis. Raises KeyError for an unknown key."""
    known = {caution.key: caution for caution in all_cautions()}
    return tuple(f"{known[key].text} [{known[key].basis}]" for key in keys)
