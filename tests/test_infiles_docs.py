"""The references of the part file and the shop file: every key is there, every example is good."""

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from millprep.infiles import (
    control_schema,
    part_schema,
    read_part,
    read_shop,
    shop_schema,
    tool_schema,
)

DOCS = Path(__file__).parent.parent / "docs"


def keys_of(module):
    for shape in vars(module).values():
        if isinstance(shape, type) and issubclass(shape, BaseModel):
            for name, field in shape.model_fields.items():
                yield field.alias or name


@pytest.mark.parametrize(
    ("name", "module"),
    [
        ("part-file.md", part_schema),
        ("shop-file.md", shop_schema),
        ("shop-file.md", control_schema),
        ("shop-file.md", tool_schema),
    ],
)
def test_every_key_is_in_its_reference(name, module):
    code = " ".join(re.findall(r"`+[^`]+`+", (DOCS / name).read_text()))
    words = set(re.findall(r"[a-z_2]+", code))
    missing = set(keys_of(module)) - words
    assert not missing


def test_examples_are_read(tmp_path):
    blocks = re.findall(r"```toml\n(part .*?|name .*?)```", all_docs(), re.DOTALL)
    assert len(blocks) == 2
    part, shop = (tmp_path / "part.toml"), (tmp_path / "shop.toml")
    part.write_text(blocks[0])
    shop.write_text(blocks[1])
    assert len(read_part(part)[0].holes) == 5
    assert read_shop(str(shop)).name == "back room"


def all_docs():
    return (DOCS / "part-file.md").read_text() + (DOCS / "shop-file.md").read_text()
