"""The chapters of a write-up: each a function from an account to blocks, empty where there is nothing to tell."""
