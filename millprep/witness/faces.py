"""Which axis of the part a face looks along, and the face across from it. Imports nothing."""

AXIS = {"left": 0, "right": 0, "front": 1, "back": 1, "bottom": 2, "top": 2}
FAR = {"left": "right", "front": "back", "bottom": "top"}
FAR |= {high: low for low, high in FAR.items()}
