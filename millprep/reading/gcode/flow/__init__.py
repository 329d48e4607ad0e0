"""Flow: lines that jump, repeat, decide and call, in the two styles that programs have them in.

O words (`o1 while [..]`, `o<hole> call [..]`) are the open reference's; letter style (`WHILE [..]
DO1`, `GOTO`, `G65`, `M98`) is common practice. A line is parsed in `statements`, its place in its
file found in `sources` and `blocks`; `o_words` and `letters` act, and `running` keeps what runs.
"""
