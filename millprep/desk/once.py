"""A change that is sent again is not made again. Imports starlette.

A page that is left while its change is on the way hears no answer; the next page sends the change
once more, under the number that the first had. It is answered as the first was.
"""

from __future__ import annotations

import asyncio

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from millprep.base.bounds import MOST_ANSWERS

NUMBER_HEADER = "x-sent"
_MOST_LETTERS = 64


class Once:
    """The application, with the answers to its last changes at hand."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self._answers: dict[str, asyncio.Future[list[Message]]] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        number = Headers(scope=scope).get(NUMBER_HEADER, "") if scope["type"] == "http" else ""
        if not number or len(number) > _MOST_LETTERS or scope["method"] not in ("POST", "PUT"):
            await self.app(scope, receive, send)
        elif number in self._answers:
            for message in await asyncio.shield(self._answers[number]):
                await send(message)
        else:
            await self._answered(number, scope, receive, send)

    async def _answered(self, number: str, scope: Scope, receive: Receive, send: Send) -> None:
        """The first time: what is said is noted, where something was done."""
        said: list[Message] = []
        answer = self._answers[number] = asyncio.get_running_loop().create_future()

        async def noting(message: Message) -> None:
            said.append(message)
            await send(message)

        try:
            await self.app(scope, receive, noting)
        finally:
            answer.set_result(said)
            if not said or said[0]["status"] >= 400:
                del self._answers[number]  # nothing was done: the next may be
            while len(self._answers) > MOST_ANSWERS:
                del self._answers[next(iter(self._answers))]
