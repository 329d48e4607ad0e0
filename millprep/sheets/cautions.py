"""The usual cautions, short enough to be read. Imports nothing."""

AT_THE_MILL = (
    "Eyes: glasses on. No gloves, rings, loose sleeves; long hair tied back.",
    "Key out of the chuck before the spindle turns. Work clamped, never held.",
    "Brush swarf away with the spindle stopped; no fingers, no air jet.",
    "Ease off as the drill breaks through. Tool jammed: stop first, then turn back by hand.",
    "Your workshop's own rules and qualified instruction come before this sheet.",
)
BEFORE_THE_PROGRAM = (
    "A DRY RUN IS NOT AN AIR CUT: RUN IT ABOVE THE WORK FIRST, HAND ON THE STOP",
    "CHECK UNITS, ZERO, TOOL IN THE SPINDLE, CLAMPS. GLASSES ON, KEY OUT OF THE CHUCK",
)
