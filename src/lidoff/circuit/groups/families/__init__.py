"""The families of groups: one small module each, with the records that show it."""
