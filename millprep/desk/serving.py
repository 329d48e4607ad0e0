"""Serving a desk on this machine until it is put away. Imports uvicorn."""

from __future__ import annotations

import secrets
import socket
from pathlib import Path

import uvicorn

from millprep.desk.app import make_app
from millprep.desk.desk import Desk

HOST = "127.0.0.1"


class Serving:
    """A desk, the port that it has on this machine, and the server that answers there.

    Raises OSError where the port cannot be had. port : 0 for any that is free
    """

    def __init__(self, folder: Path, shop: str = "metric", port: int = 0) -> None:
        self.socket = _bound(port)
        self.desk = Desk(folder, shop, self.socket.getsockname()[1], secrets.token_urlsafe(24))
        config = uvicorn.Config(
            make_app(self.desk),
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_config=None,
            log_level="critical",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=1,
        )
        self.server = uvicorn.Server(config)
        self.desk.put_away = self.end

    def end(self) -> None:
        """Let the server end, from any thread."""
        self.server.should_exit = True

    def run(self) -> None:
        """Answer until the desk is put away."""
        self.server.run([self.socket])


def _bound(port: int) -> socket.socket:
    """A socket that listens on this machine alone."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)  # where "reuse" means to share it
        listening.setsockopt(socket.SOL_SOCKET, exclusive or socket.SO_REUSEADDR, 1)
        listening.bind((HOST, port))
        listening.listen(256)
    except OSError:
        listening.close()
        raise
    return listening
