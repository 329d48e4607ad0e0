"""The one way from files to a sheet, a program or a verdict, witnessed before it is handed over.

Read, plan, check, lay out, write, read back, witness: bytes and findings come out, or findings
alone. The command line, a notebook and a page stand on it. It writes no file, and imports every
room above it, each inside the function that needs it.
"""
