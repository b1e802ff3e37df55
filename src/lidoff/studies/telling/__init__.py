"""What the account says of each kind of group: one small function per group name, gathered in `registry`."""
