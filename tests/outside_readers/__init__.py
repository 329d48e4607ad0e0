"""Readers of text sheets with patterns of their own, which know nothing of templates."""
