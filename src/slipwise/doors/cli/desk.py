"""`slipwise desk`: the local web page."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

Port = Annotated[int, Parameter(help="Port; the next free one is taken when it is in use. 0: any.")]
Host = Annotated[
    str | None,
    Parameter(
        help="Address or name under which others in the network may reach the page; without it, this machine alone."
    ),
]
Browser = Annotated[bool, Parameter(name="--browser", negative="--no-browser", help="Open the browser.")]


def desk(*, port: Port = 8642, host: Host = None, browser: Browser = True) -> None:
    """Serve the page on which a motor, a load and a supply are tried out, and open the browser on it. Ends with Ctrl+C."""
    from slipwise.quantity.errors import InputError

    try:
        from slipwise.doors.desk.serve import serve
    except ModuleNotFoundError as error:
        remedy = 'install it: pip install "slipwise[desk]"'
        raise InputError.of("desk", error.name or "", "a package that the page needs is missing", remedy) from None
    serve(port=port, host=host, browser=browser)
