"""Plans that others drew, read into a part file to be filled in: tables of holes, and DXF.

A plan says where holes are and how large; what it does not say is asked for.
"""
