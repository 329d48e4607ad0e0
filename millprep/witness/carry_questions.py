"""What is asked of what a sheet says of holes that are carried over. As `questions`.

Imports nothing.
"""

from __future__ import annotations

_LIES = {
    "face": "along which it lies, measured from the holes",
    "member": "a member that the holes come into",
    "other_face": "from which the holes that are there are measured",
    "source": "the member whose holes are there",
}
_VICE = {
    "_up": "= up",
    "jaw_face": "the edge along the longer side",
    "stop_face": "the edge along the shorter side",
    "by": "dials on the dial sheet, and there only",
}

CARRY: dict[str, dict[str, str]] = {
    "carry-layers": {
        "face": "the face that is up",
        "top_member": "the member whose holes are there",
        "layers": "both blanks, that member's first",
    },
    "carry-first": {
        "source": "the member whose holes are there",
        "others": "the rest of the joint's members",
        "stack": "the stack that the joint waits for",
        "_stack": "= stays screwed together, its pins in",
    },
    "carry-level": _LIES,
    "carry-edge": {
        **_LIES,
        "way": "which of the two holes lies farther from its edge",
        "beside_mm": "how far the holes lie from the one, less how far from the other",
    },
    "carry-round": {
        "member": "a member that the holes come into",
        "source": "the member whose holes are there",
        "_middle": "= middle over middle",
    },
    "carry-middle": {
        **_LIES,
        "from_mm": "its holes are as far from its middle as those that are there from this place",
        "other_mm": "and that",
    },
    "carry-clamp": {
        "_clamps": "= two",
        "own": "jig, and there only",
        "_open": "= open neither",
        "_all": "= every",
        "done": "spotted by a drill, else marked",
    },
    "carry-spot": {
        "drill_mm": "the hole that is there; of a tapped one the drill before the tap",
        "source": "the member whose holes are there",
        "members": "whose holes come",
        "cone_mm": "the drill, or 0.3 mm over the finished hole where that is less; and as the "
        "steps' Z makes it",
        "full": "whether that is the drill",
        "_deeper": "= no deeper",
        "thread": "of the finished hole",
        "chamfer_mm": "0.3 mm over it",
        "thick_mm": "the blank of the member that is drilled through",
    },
    "carry-jig": {
        "pin_mm": "the hole that is there",
        "source": "the member whose holes are there",
        "_x": "= X",
        "_y": "= Y",
    },
    "carry-chance": {
        "share": "as the assembly was judged",
        "reach": "whether it is less than 95",
        "wanted": "the witness's own figure",
        "better": "as the assembly was judged",
    },
    "carry-then": {
        "apart": "but by readings, where nothing was clamped together",
        "command": "of the sheet of each file and pattern that the holes are of",
    },
    "carrying-title": {
        "part": "the name of the assembly and of the joint",
        "by": "as the joint says",
        "hole_count": "the holes of the joint",
        "source": "the member whose holes are there",
    },
    "carry-punch": {
        "hole_mm": "the hole that is there",
        "punch_mm": "the largest of the shop's that goes into it",
        "slack_mm": "the one less the other",
        "_half": "= half",
        "_blow": "= a light blow",
    },
    "carry-punch-none": {
        "_drawer": "= NOT IN THE DRAWER",
        "hole_mm": "a hole that none of the shop's goes into",
    },
    "carry-screw": {
        "thread": "of the holes that are there",
        "source": "the member that has them",
        "face": "that the others lie against",
        "_only": "= only",
        "member": "whose holes come",
        "_blow": "= a light blow",
    },
    "carry-read": {
        "source": "the member whose holes are there",
        "face": "the one away from the other member",
        "_jaw": "= fixed",
        "_when": "= before",
        **_VICE,
    },
    "carry-packing": {
        "packing_mm": "how far its holes lie farther from that edge",
        "face": "of the member whose edge lies inside",
        "member": "that one",
        "between": "whether it is the longer edge",
    },
    "carry-same": {
        "member": "whose holes come",
        "source": "the member whose holes are there",
        "face": "that lies against it later",
        "_zero": "= left alone",
        "tool_mm": "the spot drill of the shop for the widest cone",
        "angle": "that drill's",
        "cone_mm": "0.3 mm over the finished hole",
        "face_again": "the face that is up",
        **_VICE,
    },
    "marked head": {"source": "the member whose holes are there"},
    "marked row": {
        "step": "one after the other",
        "from_hole": "the joint's holes that are there, in their order",
        "hole": "the one that comes from it",
    },
    "read head": {
        "source": "the member whose holes are there",
        "_x": "= X",
        "_y": "= Y",
        "depth": "whether the readout has Z",
    },
    "read row": {
        "step": "one after the other",
        "from_hole": "the joint's holes that are there, in their order",
        "hole": "the one that comes from it",
        "z": "as deep as makes the cone",
    },
}
