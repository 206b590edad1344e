"""`slipwise schema`: the published JSON Schemas."""

from __future__ import annotations

from typing import Annotated, Literal

from cyclopts import Parameter

Whose = Annotated[Literal["study", "results"], Parameter(help="Of the study file (when left out), or of study.json.")]


def schema(which: Whose = "study", /) -> None:
    """The JSON Schema of the study file (for completion in an editor) or of the results."""
    import json

    if which == "study":
        from slipwise.study.schema.published import json_schema
    else:
        from slipwise.results.schema import results_json_schema as json_schema
    print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
