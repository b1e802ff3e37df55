"""The one base of every error that Lidoff raises on purpose."""


class LidoffError(Exception):
    """Something the user can mend: its text is one sentence that names the file, line or key and what to do."""
