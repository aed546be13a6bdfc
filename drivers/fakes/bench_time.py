"""Time on a bench of fake chips: it passes when a driver waits, and at once."""


class BenchTime:
    """Seconds that pass in `sleep` only.

    Examples
    --------
    >>> time = BenchTime()
    >>> time.sleep(0.5)
    >>> time.now
    0.5
    """

    def __init__(self) -> None:
        self.now = 0.0

    def sleep(self, seconds: float) -> None:
        """Let so many seconds pass."""
        self.now += seconds
