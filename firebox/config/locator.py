"""On which line of a TOML text each key stands; `tomllib` reads the values but does not tell."""

import re
import tomllib
from typing import Final

Place = tuple[str | int, ...]
"""Where a value stands: keys of tables and indices of arrays, as in ("probes", 1, "role")."""

_SPACE: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}\n#]*")
_STRING: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")|' r"'''.*?'{3,5}(?!')|" r'"(?:[^"\\\n]|\\.)*"|' r"'[^'\n]*'",
    re.DOTALL,
)


def locate(text: str) -> dict[Place, int]:
    r"""Return the line of every table, key and array element.

    Parameters
    ----------
    text : str
        TOML that `tomllib` accepts; anything else is located as far as it goes.

    Returns
    -------
    dict
        Place -> line, from 1. An array of tables has the line of its first header.

    Examples
    --------
    >>> locate('[pit]\nname = "north"')
    {('pit',): 1, ('pit', 'name'): 2}
    """
    scanner = _Scanner(text)
    scanner.document()
    return scanner.lines


def _unquoted(text: str) -> str:
    try:
        return str(tomllib.loads(f"key = {text}")["key"])
    except tomllib.TOMLDecodeError:
        return text  # no TOML after all; the file has been refused before


class _Scanner:
    """Walks once through a text that is known to be TOML, so a wrong turn need not be reported."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._counted = (0, 1)
        self._arrays: dict[Place, int] = {}
        self.lines: dict[Place, int] = {}

    def document(self) -> None:
        table: Place = ()
        self._pass_space()
        while self._at < len(self._text):
            before = self._at
            table = self._header() if self._text[self._at] == "[" else self._pair(table)
            self._pass_space()
            if self._at == before:
                return

    def _header(self) -> Place:
        line = self._line()
        brackets = 2 if self._text.startswith("[[", self._at) else 1
        self._at += brackets
        *above, last = self._key()
        self._pass_space()
        self._at += brackets
        place: Place = ()
        for word in above:
            place = (*place, word)
            self.lines.setdefault(place, line)
            if place in self._arrays:
                place = (*place, self._arrays[place])
        place = (*place, last)
        self.lines.setdefault(place, line)
        if brackets == 2:
            self._arrays[place] = self._arrays.get(place, -1) + 1
            place = (*place, self._arrays[place])
            self.lines[place] = line
        return place

    def _pair(self, table: Place) -> Place:
        line = self._line()
        place = table
        for word in self._key():
            place = (*place, word)
            self.lines.setdefault(place, line)
        self._pass_space()
        self._at += 1  # the equals sign
        self._value(place)
        return table

    def _key(self) -> list[str]:
        words = []
        while True:
            self._pass_space()
            if match := _STRING.match(self._text, self._at):
                words.append(_unquoted(match[0]))
            elif match := _BARE_KEY.match(self._text, self._at):
                words.append(match[0])
            else:
                return words or [""]
            self._at = match.end()
            self._pass_space()
            if not self._text.startswith(".", self._at):
                return words
            self._at += 1

    def _value(self, place: Place) -> None:
        self._pass_space()
        start = self._text[self._at : self._at + 1]
        if start == "[":
            self._items("]", place, keyed=False)
        elif start == "{":
            self._items("}", place, keyed=True)
        else:
            match = _STRING.match(self._text, self._at) or _SCALAR.match(self._text, self._at)
            self._at = match.end() if match else self._at

    def _items(self, end: str, place: Place, *, keyed: bool) -> None:
        self._at += 1
        index = 0
        self._pass_space()
        before = -1
        while before < self._at < len(self._text) and self._text[self._at] != end:
            before = self._at
            if keyed:
                self._pair(place)
            else:
                self.lines[*place, index] = self._line()
                self._value((*place, index))
            index += 1
            self._pass_space()
            self._at += self._text.startswith(",", self._at)
            self._pass_space()
        self._at += 1

    def _pass_space(self) -> None:
        match = _SPACE.match(self._text, self._at)
        self._at = match.end() if match else self._at

    def _line(self) -> int:
        """Return the line of the present place; places come in order, so each newline is counted once."""
        at, line = self._counted
        self._counted = (self._at, line + self._text.count("\n", at, self._at))
        return self._counted[1]
