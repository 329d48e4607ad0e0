"""Long runs by chance, shared out between runs of the suite. No tests here."""

import os


def share_of(batches: int) -> range:
    """Those that fall to this run: with MILLPREP_SHARE=2/2 every second, from the second on.

    `.ci/run` has each of two interpreters try one half; a run by itself tries all.
    """
    nth, of = map(int, os.environ.get("MILLPREP_SHARE", "1/1").split("/"))
    return range(nth - 1, batches, of)
