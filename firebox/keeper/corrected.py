"""A source whose probes were checked against ice and steam: what they show is put right as it comes in."""

from collections.abc import AsyncIterator, Mapping

from msgspec.structs import replace

from firebox.ports import ProbeSource, SourceHealth
from firebox.records import Entry, Problem, Reading
from firebox.thermo.calibration import Correction


class CorrectedSource:
    """A source in front of another.

    Parameters
    ----------
    source : ProbeSource
    corrections : mapping
        Probe -> its correction; other probes pass as they are.
    """

    def __init__(self, source: ProbeSource, corrections: Mapping[str, Correction]) -> None:
        self._source = source
        self._corrections = corrections

    @property
    def name(self) -> str:
        return self._source.name

    @property
    def health(self) -> SourceHealth:
        return self._source.health

    async def open(self) -> None:
        """Open the source behind; raises as it does."""
        await self._source.open()

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield what is heard behind, readings put right; raises as the source behind does."""
        async for record in self._source.records():
            yield self._right(record) if isinstance(record, Reading) else record

    def _right(self, reading: Reading) -> Reading:
        correction = self._corrections.get(reading.probe)
        if correction is None or reading.celsius is None:
            return reading
        return replace(reading, celsius=correction.correct(reading.celsius))

    async def close(self) -> None:
        """Close the source behind."""
        await self._source.close()
