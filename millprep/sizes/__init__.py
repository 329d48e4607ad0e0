"""Words to sizes: drills, threads, screws, clearance holes, fits, materials, as drawings name them.

Every reader takes whatever stood in the file and gives an entry of the reference tables, or raises
`WordError` with what was given and what would be accepted. What can be read two ways is refused
with both readings. Imports layers 0 and 1.
"""

from millprep.sizes.drill_words import read_drill
from millprep.sizes.fit_words import read_fit, read_material
from millprep.sizes.screw_words import (
    HEAD_NAMES,
    clearances_meant,
    names_head,
    read_clear,
    read_screw,
    screw_threads,
)
from millprep.sizes.thread_words import hand_of, read_thread, same_size, size_word, threads_meant
from millprep.sizes.words import either, nearest, plain

__all__ = [
    "HEAD_NAMES",
    "clearances_meant",
    "either",
    "hand_of",
    "names_head",
    "nearest",
    "plain",
    "read_clear",
    "read_drill",
    "read_fit",
    "read_material",
    "read_screw",
    "read_thread",
    "same_size",
    "screw_threads",
    "size_word",
    "threads_meant",
]
