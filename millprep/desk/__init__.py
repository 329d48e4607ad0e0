"""The desk: a page in the browser, served on this machine to this person alone."""
