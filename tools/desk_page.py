"""The OpenAPI file of the desk's endpoints, and the page that tells of them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from slipwise.doors.desk.app import described

HEAD = """# The desk's endpoints

Made by `make docs` from the server itself; the same as OpenAPI 3.1 is in `src/slipwise/doors/desk/openapi.json`, and a
running desk gives it at `/api/v1/openapi.json`.

`slipwise desk` serves a page on this machine and these endpoints behind it, for scripts too. Nothing is kept between
requests: each brings the text of a study file and, when a value is to be tried, edits to be made in it first.

```python
import json
from urllib.request import Request, urlopen

DESK = "http://127.0.0.1:8642/api/v1/"

def ask(endpoint, **body):
    content = json.dumps(body).encode("utf-8") if body else None
    return json.load(urlopen(Request(DESK + endpoint, content, {"Content-Type": "application/json"})))

study = ask("studies")["studies"][0]["text"]
answer = ask("steady", text=study, edits=[{"path": "load.shaft_power", "value": "40 kW"}])
for way in answer["ways"]:
    print(way["title"], [point["words"] for point in way["points"]])
```

- A wrong study or request is answered with 422 and `faults`; `field` is the path in the study, `line` the line in it.
- Long work streams lines of JSON: `progress` with words and share, then one `result` or `faults`. Closing the connection
  cancels it; it is waited for in turn, and ended after four minutes.
- An edit has `path` and `value` as typed; `null` takes the key out, with `emptied` its table too when nothing is left in it.
  With `along` what belongs to a value of the plate is moved with it, rather not what `kept` names; `moved` tells what was.
- Numbers come in the units named beside them; what cannot be a number is null.
- A study with `[stopping]`, `[[disturbance]]` or `[group]` is judged with `stopping`, `disturbances` or `group` besides; the
  circuit of a way of stopping is exported under `stop_`, its key, and the stage behind a stroke.
- The server answers this machine alone; `--host` shares it, without password or encryption: in a network you trust.
- Files that a study names (recordings, the studies of a group) come with the request as `files`, by plain name: at most 16
  and 24 MB, bodies up to 33 MB. Nothing is read from the disk or written there. A content sent once may be named by its
  `sha256` alone; when it is not kept any more, the fault names `files.base64`, and the content is to be sent again.
- Other hosts, other pages and other kinds of bodies are refused.
"""


def openapi() -> str:
    """The file."""
    return json.dumps(described(), indent=1, ensure_ascii=False) + "\n"


def start_study(examples: Path, key: str) -> str:
    """The copy of an example that the page can begin with, since examples are not installed."""
    return (examples / f"{key}.toml").read_text(encoding="utf-8")


def page() -> str:
    """The page: one table of the body's keys for each endpoint."""
    found = described()
    parts = [HEAD]
    for path, methods in found["paths"].items():
        for method, operation in methods.items():
            parts.append(f"## {method.upper()} {path}\n\n{operation['summary']}.\n")
            body = operation.get("requestBody")
            if body is not None:
                name = body["content"]["application/json"]["schema"]["$ref"].rsplit("/", 1)[1]
                parts.append(_keys(found["components"]["schemas"], name))
    return "\n".join(parts)


def _keys(schemas: dict[str, Any], name: str) -> str:
    schema = schemas[name]
    rows = [f"{schema.get('description', '')}\n", "| Key | Value | Needed |", "|---|---|---|"]
    for key, value in schema["properties"].items():
        needed = "yes" if key in schema.get("required", ()) else f"no; {json.dumps(value.get('default'))}"
        rows.append(f"| `{key}` | {_words(value)} | {needed} |")
    return "\n".join(rows) + "\n"


def _words(value: dict[str, Any]) -> str:
    if "enum" in value:
        return ", ".join(f"`{word}`" for word in value["enum"])
    if "anyOf" in value:
        return " or ".join(_words(choice) for choice in value["anyOf"])
    if "$ref" in value:
        return f"{value['$ref'].rsplit('/', 1)[1].lower()}"
    if value.get("type") == "array":
        return f"list of {_words(value['items'])}, at most {value['maxItems']}"
    limits = [f"{name} {value[key]:g}" for key, name in (("minimum", "from"), ("maximum", "to")) if key in value]
    limits += [f"at most {value['maxLength']} characters"] if "maxLength" in value else []
    return " ".join([str(value.get("type", "any")), *limits])
