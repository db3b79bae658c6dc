"""The local web app: a view and an editor of a study folder, never a place where results are made."""
