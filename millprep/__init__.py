"""millprep: one description of a part, every sheet for the mill."""

__version__ = "0.1.0"
