"""From the table of findings to the electrode that goes forward: musts, wants, ranking, explanation."""
