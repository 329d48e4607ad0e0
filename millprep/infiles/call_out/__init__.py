"""Call-outs as plans print them, read into a hole's figures."""
