"""Files that people write, read: part files and shop files, each fault with its place.

The only layer that uses pydantic. What comes out is `Part` and `Shop`, in millimetres.
"""

from millprep.infiles.mirror import mirrored
from millprep.infiles.part_file import read_part
from millprep.infiles.shop_file import read_shop
from millprep.infiles.starters import starter

__all__ = ["mirrored", "read_part", "read_shop", "starter"]
