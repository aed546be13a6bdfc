"""MQTT messages to readings, without a broker: topic filters, JSON pointers, payloads.

References
----------
.. [1] OASIS, "MQTT Version 5.0", 2019, section 4.7: topic names and topic filters.
.. [2] P. Bryan, K. Zyp, M. Nottingham, "JavaScript Object Notation (JSON) Pointer", RFC 6901, IETF, 2013.
"""

import re
from typing import Any, Final

from drivers.lines import Heard, excerpt, hear_object, hear_text, hear_value, name_problem
from firebox.errors import RecordError
from firebox.links import LineFormat, TopicMap
from firebox.records import parse

PAYLOAD_LIMIT: Final = 65_536
"""Bytes of a message that are looked at; no reading is longer."""


def filter_pattern(topic_filter: str) -> re.Pattern[str]:
    """Return a pattern that matches the topics of a filter [1]_, with a group for each wildcard.

    Examples
    --------
    >>> filter_pattern("yard/+/temp").fullmatch("yard/north/temp").groups()
    ('north',)
    """
    levels = topic_filter.split("/")
    parts = [{"+": "([^/]*)", "#": "(.*)"}.get(level, re.escape(level)) for level in levels]
    if levels[-1] == "#":  # it stands for the level above, too
        parts[-2:] = [f"{parts[-2]}(?:/(.*))?"] if len(parts) > 1 else parts[-1:]
    guard = r"(?!\$)" if levels[0] in {"+", "#"} else ""  # topics of the broker's own are not for wildcards
    return re.compile(guard + "/".join(parts), re.DOTALL)


def point(value: Any, pointer: str) -> Any:  # any JSON value
    """Return what a JSON pointer [2]_ points at.

    Raises
    ------
    LookupError
        There is nothing at that place.

    Examples
    --------
    >>> point({"probes": [{"c": 121.4}]}, "/probes/0/c")
    121.4
    """
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        if isinstance(value, dict) and name in value:
            value = value[name]
        elif isinstance(value, list) and re.fullmatch(r"0|[1-9][0-9]{0,8}", name) and int(name) < len(value):
            value = value[int(name)]
        else:
            raise LookupError(f'nothing at "{pointer}"')
    return value


class TopicReader:
    """Reads the messages of one mapping.

    Parameters
    ----------
    mapping : TopicMap
    """

    def __init__(self, mapping: TopicMap) -> None:
        self.mapping = mapping
        self._pattern = filter_pattern(mapping.topic)
        self._form = LineFormat(unit=mapping.unit)

    def hear(self, topic: str, payload: bytes) -> Heard | None:
        """Return what a message says; None where its topic is not of this mapping."""
        match = self._pattern.fullmatch(topic)
        if match is None:
            return None
        if len(payload) > PAYLOAD_LIMIT:
            return Heard(
                problems=(f"{excerpt(topic)}: {len(payload)} bytes; no reading is longer than {PAYLOAD_LIMIT}",)
            )
        heard = self._read(match, payload)
        return Heard(heard.samples, tuple(f"{excerpt(topic)}: {text}" for text in heard.problems), heard.node)

    def _read(self, match: re.Match[str], payload: bytes) -> Heard:
        if self.mapping.probe is None:
            return self._read_object(payload)
        probe = re.sub(r"\{(\d+)\}", lambda number: match.group(int(number[1])) or "", self.mapping.probe)
        problem = name_problem(probe)
        if problem:
            return Heard(problems=(problem,))
        return self._read_value(probe, payload)

    def _read_value(self, probe: str, payload: bytes) -> Heard:
        scale, form = self.mapping.unit, self._form
        try:
            value = parse(payload)
        except RecordError as error:
            if self.mapping.pointer is None:  # bare words are no JSON, and a fine way to say "open"
                return hear_text(probe, payload.decode(errors="replace"), scale, form)
            return Heard(problems=(f"{excerpt(payload)}: {error}",))
        try:
            return hear_value(probe, point(value, self.mapping.pointer or ""), scale, form)
        except LookupError as error:
            return Heard(problems=(f"{excerpt(payload)}: {error}",))

    def _read_object(self, payload: bytes) -> Heard:
        try:
            value = parse(payload)
        except RecordError as error:
            return Heard(problems=(f"{excerpt(payload)}: {error}",))
        if not isinstance(value, dict):
            return Heard(problems=(f"{excerpt(payload)}: not a JSON object with a value per probe",))
        probe = value.get("probe")
        if "celsius" not in value or not isinstance(probe, str):
            return hear_object(value, self._form)
        problem = name_problem(probe)
        return Heard(problems=(problem,)) if problem else hear_value(probe, value, self.mapping.unit, self._form)
