"""TOML text → the line each key stands on.

`tomllib` gives the values; this gives the places: a small scanner that follows tables, arrays of tables, dotted and quoted
keys, inline tables and arrays over many lines, strings of every kind and comments. In: text that `tomllib` accepted.
Out: path (keys and indexes) → line, from 1.
"""

from collections.abc import Iterator

Path = tuple[str | int, ...]
_BARE_ENDS = "=]},\n\r\t #."


class Positions:
    """Where every key, table and array item stands."""

    def __init__(self, lines: dict[Path, int]) -> None:
        self._lines = lines

    def line(self, path: Path) -> int:
        """The line of the path, else of the nearest thing around it, else 1."""
        for length in range(len(path), 0, -1):
            if path[:length] in self._lines:
                return self._lines[path[:length]]
        return 1


def positions(text: str) -> Positions:
    """Finds every place."""
    return Positions(dict(_Scanner(text).scan()))


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.counts: dict[Path, int] = {}

    def scan(self) -> Iterator[tuple[Path, int]]:
        table: Path = ()
        while self._skip_blank():
            if self.text.startswith("[[", self.at):
                self._take(2)
                table = self._indexed(self._key())
                count = self.counts.get(table, 0)
                self.counts[table] = count + 1
                table = (*table, count)
                yield table, self.line
                self._to_line_end()
            elif self.text[self.at] == "[":
                self._take(1)
                table = self._indexed(self._key(), own=False)
                yield table, self.line
                self._to_line_end()
            else:
                yield from self._pair(table)
                self._to_line_end()

    def _indexed(self, keys: Path, *, own: bool = True) -> Path:
        """`[[a.b]]` under the newest `a`: a path with its indexes."""
        path: Path = ()
        for place, key in enumerate(keys):
            path = (*path, key)
            last = place == len(keys) - 1
            if path in self.counts and not (last and own):
                path = (*path, self.counts[path] - 1)
        return path

    def _pair(self, table: Path) -> Iterator[tuple[Path, int]]:
        line = self.line
        path = (*table, *self._key())
        yield path, line
        self._skip_space()
        self._take(1)
        yield from self._value(path)

    def _value(self, path: Path) -> Iterator[tuple[Path, int]]:
        self._skip_space()
        start = self.text[self.at] if self.at < len(self.text) else ""
        if start in ("'", '"'):
            self._string()
        elif start == "[":
            yield from self._array(path)
        elif start == "{":
            yield from self._inline(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self._take(1)

    def _array(self, path: Path) -> Iterator[tuple[Path, int]]:
        self._take(1)
        index = 0
        while self._skip_blank() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self._take(1)
                continue
            yield (*path, index), self.line
            yield from self._value((*path, index))
            index += 1
        self._take(1)

    def _inline(self, path: Path) -> Iterator[tuple[Path, int]]:
        self._take(1)
        while self._skip_blank() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self._take(1)
                continue
            yield from self._pair(path)
        self._take(1)

    def _key(self) -> Path:
        keys: list[str] = []
        while True:
            self._skip_space()
            if self.text[self.at] in ("'", '"'):
                keys.append(self._string())
            else:
                start = self.at
                while self.at < len(self.text) and self.text[self.at] not in _BARE_ENDS:
                    self._take(1)
                keys.append(self.text[start : self.at])
            self._skip_space()
            if self.at >= len(self.text) or self.text[self.at] != ".":
                return tuple(keys)
            self._take(1)

    def _string(self) -> str:
        quote = self.text[self.at]
        fence = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self._take(len(fence))
        start = self.at
        while self.at < len(self.text):
            if quote == '"' and self.text[self.at] == "\\":
                self._take(2)
            elif self.text.startswith(fence, self.at):
                break
            else:
                self._take(1)
        inner = self.text[start : self.at]
        self._take(len(fence))
        while len(fence) == 3 and self.at < len(self.text) and self.text[self.at] == quote:
            self._take(1)
        return inner

    def _skip_space(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self._take(1)

    def _skip_blank(self) -> bool:
        """Past white space, line ends and comments; False at the end of the text."""
        while self.at < len(self.text):
            if self.text[self.at] in " \t\r\n":
                self._take(1)
            elif self.text[self.at] == "#":
                self._to_line_end()
            else:
                return True
        return False

    def _to_line_end(self) -> None:
        while self.at < len(self.text) and self.text[self.at] != "\n":
            self._take(1)

    def _take(self, count: int) -> None:
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count
