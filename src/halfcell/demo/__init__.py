"""The demonstration study: invented data from a stated physical model, with its truth."""
