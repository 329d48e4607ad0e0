"""Sheets read back: the bytes of a finished sheet in any form to slots, rows and figures."""
