"""The zone of this computer, by its own rules for every instant: a winter's cook looked back on in summer keeps its hours."""

from datetime import UTC, datetime, timedelta, tzinfo


class Here(tzinfo):
    """Where this computer says it is."""

    def fromutc(self, instant: datetime) -> datetime:
        """Return an instant, given in UTC, by the clock of this place."""
        return instant.replace(tzinfo=UTC).astimezone().replace(tzinfo=self)

    def utcoffset(self, instant: datetime | None) -> timedelta | None:
        """Return how far the clock of this place is ahead of UTC at an instant."""
        return None if instant is None else instant.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, instant: datetime | None) -> timedelta | None:  # noqa: ARG002  asked of every zone
        """Return None: the offset alone is known."""
        return None

    def tzname(self, instant: datetime | None) -> str | None:
        """Return what the zone is called at an instant."""
        return None if instant is None else instant.replace(tzinfo=None).astimezone().tzname()
