"""Serving a desk on this machine until it is put away."""

from __future__ import annotations

import asyncio
import logging
import secrets
import socket
from contextlib import suppress
from pathlib import Path

import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.h11_impl import H11Protocol

from millprep.desk.app import make_app
from millprep.desk.desk import Desk
from millprep.desk.network import bound

HOST = "127.0.0.1"
_HANDLES = 4096
_IDLE_SECONDS = 30
"""A connection on which nothing is asked is closed; a page asks every second."""


class Serving:
    """A desk, the port that it has on this machine, and the server that answers there.

    listening : None for any port that is free; secret : None for a new one
    """

    def __init__(
        self,
        folder: Path,
        shop: str | None = None,
        listening: socket.socket | None = None,
        secret: str | None = None,
        state_home: Path | None = None,
    ) -> None:
        """Raises MillprepError where the folder, or what is kept of it, cannot be opened."""
        self.socket = listening or bound(HOST, 0)
        port = self.socket.getsockname()[1]
        self.desk = Desk(folder, shop, port, secret or secrets.token_urlsafe(24), state_home)
        self.desk.put_away = self.end
        self.server = uvicorn.Server(settings(make_app(self.desk)))

    def end(self) -> None:
        """Let the server end, from any thread."""
        self.server.should_exit = True

    def run(self) -> None:
        """Answer until the desk is put away."""
        log, noting = logging.getLogger("uvicorn.error"), _Noting(self.desk)
        _raise_limit()
        log.addHandler(noting)
        log.propagate = False
        try:
            self.desk.phones.start()
            with self.desk.looking:
                self.server.run([self.socket])
        finally:
            log.removeHandler(noting)
            self.socket.close()
            self.desk.close()


def settings(app: ASGIApp) -> uvicorn.Config:
    """How an application of the desk is served."""
    return uvicorn.Config(
        app,
        http=_Patient,
        ws="none",
        loop="asyncio",
        lifespan="off",
        log_config=None,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=_IDLE_SECONDS,
        timeout_graceful_shutdown=1,
    )


class _Patient(H11Protocol):
    """Closes a connection on which no request comes, or half of one, like one at rest."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self.cycle is None or self.cycle.response_complete:
            self._wait()

    def _wait(self) -> None:
        self._unset_keepalive_if_required()
        self.timeout_keep_alive_task = self.loop.call_later(
            self.timeout_keep_alive, self.timeout_keep_alive_handler
        )


class _Noting(logging.Handler):
    """What the server says of itself, a line of the desk each."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(logging.WARNING)
        self.desk = desk

    def emit(self, record: logging.LogRecord) -> None:
        error = record.exc_info[1] if record.exc_info else None
        said = record.getMessage().partition("\n")[0]
        self.desk.note(said if error is None else f"fault: {error!r}")


def _raise_limit() -> None:
    """Connections that nobody closes may be many, and some systems open 256 files a process."""
    with suppress(ImportError, OSError, ValueError):
        import resource

        least, most = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = _HANDLES if most == resource.RLIM_INFINITY else min(_HANDLES, most)
        if least != resource.RLIM_INFINITY and least < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))
