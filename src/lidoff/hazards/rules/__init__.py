"""The rules, a module per subject."""
