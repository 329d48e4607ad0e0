"""Files that people write, read: part files and shop files, each fault with its place.

The only layer that uses pydantic. What comes out is `Part` and `Shop`, in millimetres.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from millprep.infiles.opposite import mirrored
    from millprep.infiles.part_file import read_part
    from millprep.infiles.shop_file import read_shop
    from millprep.infiles.starters import starter

__all__ = ["mirrored", "read_part", "read_shop", "starter"]

_MODULES = {"mirrored": "opposite", "read_part": "part_file", "read_shop": "shop_file"}


def __getattr__(name: str) -> Any:
    """One of these, loaded when it is first asked for: a dry run needs no part file."""
    if name not in __all__:
        raise AttributeError(name)
    module = import_module(f"millprep.infiles.{_MODULES.get(name, 'starters')}")
    return getattr(module, name)
