"""A printed page of the classroom: title, blocks, footer, typeset by the template of the report."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from slipwise import __version__
from slipwise.present.report.blocks import Block, Images
from slipwise.present.report.build import FOOTER, typeset
from slipwise.study.cautions import all_cautions


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

    Args:
        title: at the head. kind: what it is, such as "Handout", under the title.
        blocks: of `present.report.blocks`. images: the pictures they name.
        description: kept in the file for readers aloud; the kind when empty.
        day: printed in the head of each page; None prints none, and then the file is not fit for archives.

    Raises:
        RuntimeError: the typesetting failed.
    """
    version = f"slipwise {__version__}"
    printed = f"{day.day} {day:%B %Y}" if day else ""
    data = {
        "title": title,
        "description": description or kind,
        "subtitle": "   ·   ".join(part for part in (kind, f"Computed by {version}", printed) if part),
        "version": version,
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": printed,
        "footer": FOOTER,
        "blocks": list(blocks),
    }
    return typeset(data, images or Images(), day)


def cautions(*keys: str) -> tuple[str, ...]:
    """Texts of the table of cautions by their keys, with their basis. Raises KeyError for an unknown key."""
    known = {caution.key: caution for caution in all_cautions()}
    return tuple(f"{known[key].text} [{known[key].basis}]" for key in keys)
