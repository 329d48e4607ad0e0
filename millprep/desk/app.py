"""The desk as one application: the pages of all modules behind the gate."""

from __future__ import annotations

from pathlib import Path

from starlette.applications import Starlette
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles

from millprep.desk import (
    assembled,
    beside,
    board,
    choosing,
    dry,
    folder,
    look_up,
    new_piece,
    offers,
    papers,
    phone,
    piece_page,
    piece_ways,
    shop_page,
    shown,
)
from millprep.desk.desk import Desk
from millprep.desk.gate import Gate, Once
from millprep.desk.refusals import REFUSED, refused

PAGES = (
    folder,  # what lies in it
    new_piece,  # one more
    shop_page,  # what they are made with
    choosing,  # another folder
    look_up,  # the box on every page
    board,  # a part: its drawing, findings and cures
    offers,  # what completes a box, words of a plan into boxes
    piece_page,  # the sheet itself, its text
    piece_ways,  # its other hand, a copy, off the board
    papers,  # the sheets that are printed
    phone,  # the bench page handed to phones
    shown,  # what stands in a frame
    assembled,  # an assembly
    dry,  # a program
    beside,  # put away, what changed
)
"""Modules with pages of the desk: each offers its ROUTES."""
_STATIC = Path(__file__).parent / "static"


def make_app(desk: Desk) -> Gate:
    """The application that answers for one desk."""
    routes: list[BaseRoute] = [route for module in PAGES for route in module.ROUTES]
    routes.append(Mount("/static", StaticFiles(directory=_STATIC)))
    app = Starlette(routes=routes, exception_handlers=dict.fromkeys(REFUSED, refused))
    app.router.redirect_slashes = False
    app.state.desk = desk
    return Gate(Once(app), desk)
