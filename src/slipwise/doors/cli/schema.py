"""`slipwise schema`: the published JSON Schemas."""

from __future__ import annotations

from typing import Literal


def schema(which: Literal["study", "results"] = "study") -> None:
    """The JSON Schema of the study file (for completion in an editor) or of study.json.

    Parameters
    ----------
    which
        Whose schema.
    """
    import json

    if which == "study":
        from slipwise.study.json_schema import json_schema
    else:
        from slipwise.results.schema import results_json_schema as json_schema
    print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
