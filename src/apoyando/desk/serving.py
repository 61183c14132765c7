"""The server: bound to this machine, with an address that carries a random token."""

import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path
from secrets import token_urlsafe

import uvicorn

from apoyando.desk.app import make_app
from apoyando.desk.guard import OPENING
from apoyando.desk.tasks import Levels
from apoyando.desk.workshop import Workshop
from apoyando.model.errors import UsageError
from apoyando.repertoire import Shelf

ADDRESS = "127.0.0.1"
"""Loopback: no other machine reaches it."""
SECONDS_TO_CLOSE = 2


def serve_desk(
    folder: Path, levels: Levels, *, port: int = 0, opens_browser: bool = True, tell: Callable[[str], None]
) -> None:
    """Open the desk on a shelf and serve until stopped; ``tell`` hears the address to open.

    ``port`` 0 takes one that is free. Raises UsageError where shelf or port cannot be had.
    """
    shelf = Shelf(folder, levels)
    listener = _listen(port)
    port = listener.getsockname()[1]
    token = token_urlsafe(32)
    hosts = frozenset({f"{ADDRESS}:{port}", f"localhost:{port}"})
    app = make_app(shelf, Workshop(levels), levels, token=token, hosts=hosts)
    address = f"http://{ADDRESS}:{port}{OPENING}?token={token}"
    tell(address)
    if opens_browser:
        webbrowser.open(address)
    config = uvicorn.Config(
        app,
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=SECONDS_TO_CLOSE,
        ws="none",
    )
    uvicorn.Server(config).run(sockets=[listener])


def _listen(port: int) -> socket.socket:
    """Listening before anybody is told the address."""
    try:
        return socket.create_server((ADDRESS, port))
    except (OSError, OverflowError) as error:
        raise UsageError(f"port {port} cannot be had ({error}). Choose another with --port.") from error
