"""Files that people write, edited as texts: one figure or one line at a time, the rest untouched.

Nothing here reads or writes a file. What stands in a text is `as_written`; what a person types is
put down as the TOML value that its key takes, and the remarks and the layout around it stay to the
letter.
"""
