"""Decisions to sheets: the one place that rounds for paper, and the wording."""
