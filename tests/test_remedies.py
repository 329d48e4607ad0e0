"""Every way out that a remedy of `check` names cures when it is written into the part file."""

import os
import random
from collections import Counter
from pathlib import Path

import pytest
from mistakes import random_case
from remedies import is_understood, trouble
from shares import share_of

SEED = int(os.environ.get("MILLPREP_SEED", "1"))
BATCHES, PER_BATCH = 5, 20


@pytest.mark.parametrize("batch", share_of(BATCHES))
def test_what_a_remedy_tells_to_write_cures(batch: int, tmp_path: Path) -> None:
    first = SEED + batch * PER_BATCH
    print(f"seeds {first} to {first + PER_BATCH - 1}; MILLPREP_SEED moves them")
    tried: Counter[str] = Counter()
    for seed in range(first, first + PER_BATCH):
        assert [*trouble(random_case(random.Random(seed)), tmp_path, tried)] == [], f"seed {seed}"
    assert tried.total() >= PER_BATCH // 4  # else nothing was asked


def test_a_remedy_that_nobody_can_follow_is_a_fault() -> None:
    assert is_understood("give parallels 12 mm high or more")
    assert not is_understood("think it over")
