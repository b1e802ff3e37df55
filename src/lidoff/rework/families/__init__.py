"""The design families, one module each, and their registry.

A family is a module with a `FAMILY`; to add one, write the module and add it to `registry.FAMILIES`.
"""
