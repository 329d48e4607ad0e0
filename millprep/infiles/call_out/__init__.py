"""Call-outs as plans print them: read into a hole's figures, and a hole's figures said as one."""

from millprep.infiles.call_out.reader import CallOut, read_call_out

__all__ = ["CallOut", "read_call_out"]
