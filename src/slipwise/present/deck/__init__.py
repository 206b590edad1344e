"""Slides of a lecture: as PDF, as one page of HTML, and as a file to be edited."""

from __future__ import annotations
