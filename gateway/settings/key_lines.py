"""TOML text → the line each key stands on.

`tomllib` gives the values; this gives the places: a small scanner that follows tables, arrays of tables, dotted and quoted
keys, inline tables and arrays over many lines, strings of every kind and comments. In: text that `tomllib` accepted.
Out: path (keys and indexes) → line, from 1.
"""

from collections.abc import Iterator

KeyPath = tuple[str | int, ...]
_BARE_ENDS = "=]},\n\r\t #."


class KeyLines:
    """Where every key, table and array item stands."""

    def __init__(self, lines: dict[KeyPath, int]) -> None:
        self._lines = lines

    def line(self, path: KeyPath) -> int:
        """The line of the path, else of the nearest thing around it, else 1."""
        for length in range(len(path), 0, -1):
            if path[:length] in self._lines:
                return self._lines[path[:length]]
        return 1


def find_key_lines(text: str) -> KeyLines:
    """The line of every key, table and array item of a TOML text."""
    return KeyLines(dict(_Scanner(text).scan()))


class _Scanner:
    """Goes through the text once. `at` is the place of the next character, `line` the line on which it stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.items: dict[KeyPath, int] = {}
        """How many items each array of tables has so far."""

    def scan(self) -> Iterator[tuple[KeyPath, int]]:
        table: KeyPath = ()
        while self._skip_blank():
            # at the start of a statement: inside a value it is an array in an array
            if self.text.startswith("[[", self.at):
                self._advance(2)
                table = self._with_indexes(self._read_key(), is_new_item=True)
                index = self.items.get(table, 0)
                self.items[table] = index + 1
                table = (*table, index)
                yield table, self.line
            elif self.text[self.at] == "[":
                self._advance(1)
                table = self._with_indexes(self._read_key(), is_new_item=False)
                yield table, self.line
            else:
                yield from self._scan_pair(table)
            self._to_line_end()

    def _with_indexes(self, keys: KeyPath, *, is_new_item: bool) -> KeyPath:
        """A heading's keys → their path: `[[a.b]]` and `[a.b]` stand under the newest `[[a]]`; `[[a.b]]` itself begins a new item."""
        path: KeyPath = ()
        for place, key in enumerate(keys):
            path = (*path, key)
            is_last = place == len(keys) - 1
            if path in self.items and not (is_last and is_new_item):
                path = (*path, self.items[path] - 1)
        return path

    def _scan_pair(self, table: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        line = self.line
        path = (*table, *self._read_key())
        yield path, line
        self._skip_space()
        self._advance(1)  # the "="
        yield from self._scan_value(path)

    def _scan_value(self, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        self._skip_space()
        start = self.text[self.at] if self.at < len(self.text) else ""
        if start in ("'", '"'):
            self._read_string()
        elif start == "[":
            yield from self._scan_array(path)
        elif start == "{":
            yield from self._scan_inline_table(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self._advance(1)

    def _scan_array(self, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        self._advance(1)
        index = 0
        while self._skip_blank() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self._advance(1)
                continue
            yield (*path, index), self.line
            yield from self._scan_value((*path, index))
            index += 1
        self._advance(1)

    def _scan_inline_table(self, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        self._advance(1)
        while self._skip_blank() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self._advance(1)
                continue
            yield from self._scan_pair(path)
        self._advance(1)

    def _read_key(self) -> KeyPath:
        keys: list[str] = []
        while True:
            self._skip_space()
            if self.text[self.at] in ("'", '"'):
                keys.append(self._read_string())
            else:
                start = self.at
                while self.at < len(self.text) and self.text[self.at] not in _BARE_ENDS:
                    self._advance(1)
                keys.append(self.text[start : self.at])
            self._skip_space()
            if self.at >= len(self.text) or self.text[self.at] != ".":
                return tuple(keys)
            self._advance(1)

    def _read_string(self) -> str:
        quote = self.text[self.at]
        fence = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self._advance(len(fence))
        start = self.at
        while self.at < len(self.text):
            if quote == '"' and self.text[self.at] == "\\":  # in 'single quotes' a backslash is one
                self._advance(2)
            elif self.text.startswith(fence, self.at):
                break
            else:
                self._advance(1)
        inner = self.text[start : self.at]
        self._advance(len(fence))
        # up to two quotes may stand before the closing three: """he said "yes""""" (TOML 1.0, multi-line strings)
        while len(fence) == 3 and self.at < len(self.text) and self.text[self.at] == quote:
            self._advance(1)
        return inner

    def _skip_space(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self._advance(1)

    def _skip_blank(self) -> bool:
        """Past white space, line ends and comments; False at the end of the text."""
        while self.at < len(self.text):
            if self.text[self.at] in " \t\r\n":
                self._advance(1)
            elif self.text[self.at] == "#":
                self._to_line_end()
            else:
                return True
        return False

    def _to_line_end(self) -> None:
        while self.at < len(self.text) and self.text[self.at] != "\n":
            self._advance(1)

    def _advance(self, count: int) -> None:
        """The only way on, so that no line end is passed uncounted, whatever it stands in."""
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count
