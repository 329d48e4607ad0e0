"""A dry run to look at: the picture, the page and the comparison of two programs.

Imports `reading`, the scene, the shop and the canvas; never what plans or writes a part.
"""
