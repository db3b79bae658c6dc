"""One drawing a kind of exhibit."""
