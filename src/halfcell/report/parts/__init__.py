"""One part of the report a question."""
