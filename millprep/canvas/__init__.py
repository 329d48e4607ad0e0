"""Pens: what is drawn does not know how it is stored. Millimetres, y up. Imports layer 0."""
