"""The errors that firebox raises on purpose; anything else that escapes is a defect."""


class FireboxError(Exception):
    """Base of all errors that firebox raises on purpose."""


class ConfigError(FireboxError):
    """A configuration that cannot be used; the message names file, key, line and what would be right."""


class JournalError(FireboxError):
    """A journal that cannot be opened, read or written."""


class SourceError(FireboxError):
    """A probe source that cannot be opened or has gone away; the keeper tries again."""


class NoticeError(FireboxError):
    """A notice that did not reach anybody; it is tried again. The message holds no secret."""


class HeldError(FireboxError):
    """Another process keeps this pit; the message says which."""


class RecordError(FireboxError, ValueError):
    """Outside data that is no record; the message says what is wrong and what would be right."""


class UnknownRecordError(RecordError):
    """Well-formed outside data of a type that this version does not know."""


class RangeError(FireboxError, ValueError):
    """A quantity outside the range for which a formula holds."""


def printable(text: str) -> str:
    r"""Return a text on one line and without control characters, whatever a stranger wrote into it.

    Examples
    --------
    >>> printable("no probe: \x1b[2J\n")
    'no probe: \\x1b[2J\\n'
    """
    return "".join(mark if mark.isprintable() else ascii(mark)[1:-1] for mark in text)
