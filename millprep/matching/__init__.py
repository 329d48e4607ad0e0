"""A part that has to fit one drilled already, and what errors of measured holes look like."""
