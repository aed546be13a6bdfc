"""What a probe says, and how the node writes it down: one line of JSON a sample, at most 512 bytes.

A reading is a tuple `(celsius, status, why)`: the temperature in degrees Celsius, or None with a status of "open",
"shorted" or "failed" and the reason in a few words. Numbers are written with two decimals, so that a board with
floats of 32 bits writes 121.4 as 121.40 and not as 121.4000015. Keys are put together by hand because a dictionary
has no order on the board.
"""

import json

LINE_LIMIT = 512
"""Bytes in a line without its end; who listens refuses longer ones."""

GOOD, OPEN, SHORTED, FAILED = "good", "open", "shorted", "failed"


def good(celsius: float) -> tuple:
    """Return the reading of a probe that works."""
    return celsius, GOOD, ""


def bad(status: str, why: str) -> tuple:
    """Return the reading of a probe that does not: no temperature, but what is wrong."""
    return None, status, why


def sample_line(names: list, readings: list) -> str:
    """Return the line that tells all probes, in the order of the settings."""
    return "{" + ", ".join(_pair(name, reading) for name, reading in zip(names, readings)) + "}"


def _pair(name: str, reading: tuple) -> str:
    celsius, status, _ = reading
    value = "%.2f" % celsius if status == GOOD else '{"celsius": null, "status": "%s"}' % status
    return json.dumps(name) + ": " + value


def longest_line(names: list) -> int:
    """Return how many bytes the longest line has that these probes can need: all of them shorted."""
    return len(sample_line(names, [bad(SHORTED, "")] * len(names)).encode())


def node_line(facts: list, troubles: list) -> str:
    """Return the line with which the node describes itself.

    `facts` are pairs of a key and a value, in order; `troubles` are texts, of which as many are told as the line holds.
    """
    told = list(troubles)
    while True:
        pairs = facts + ([("trouble", told)] if told else [])
        if len(told) < len(troubles):
            pairs.append(("more_trouble", len(troubles) - len(told)))
        line = '{"node": {' + ", ".join(json.dumps(key) + ": " + json.dumps(value) for key, value in pairs) + "}}"
        if len(line.encode()) <= LINE_LIMIT or not told:
            return line
        told.pop()
