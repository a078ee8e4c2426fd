"""Lines of a chat as a phone copies it → the texts alone.

What stands in front is read piece by piece: days, dates, times, numbers, brackets and dashes in any order, then a name
with a colon. It counts only where most lines have it; a line without it goes on with the text above. Only the sender of
most texts is kept (the others are people), and what the phone says itself is left out. Where the front may as well belong
to the texts, that is said (`opening`), so that the rules can allow for both.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import regex

_MONTH = (
    r"(?:jan|feb|fév|mar|mär|mrz|apr|abr|avr|ma[iyj]|jui?n|jui?l|aug|ago|aoû|sep|set|o[ck]t|out|nov|de[czs]|dic|déc|ene)"
    r"\p{L}{0,8}\.?"
)
_DATE = (
    r"(?:\d{1,4}(?P<dot>[-/.])\d{1,2}(?P=dot)(?:\d{4}|\d{2})?(?!\d)|[0-3]?\d[/.][01]?\d\.?(?=,? \d{1,2}[:.]\d{2})"
    rf"|\d{{1,2}}\.? (?:de )?{_MONTH}(?:,? (?:de )?\d{{2,4}}(?![:.\d]))?|{_MONTH} \d{{1,2}}(?:,? \d{{4}})?(?![:.\d]))"
    r"(?=[\s,\])>T;|:–—-]|$)"
)
_CLOCK = (
    r"(?:[01]?\d|2[0-4])(?:[:.][0-5]\d){1,2}(?:[.,]\d{3})?(?:[ \u202f\u00a0]?[ap]\.?[ \u00a0]?m\b\.?)?"
    r"(?:Z|[ ]?[+-]\d{2}:?\d{2})?(?!\d|:\d)|\d{1,2} ?[ap]m\b|\d{1,2}h\d{2}\b"
)
_DAY = (
    r"(?:mon(?:day)?|tue(?:s(?:day)?)?|wed(?:nesday)?|thu(?:rs(?:day)?)?|fri(?:day)?|sat(?:urday)?|sun(?:day)?"
    r"|lun(?:es|di)?|mar(?:tes|di)?|mi[eé](?:rcoles)?|mer(?:credi)?|jue(?:ves)?|jeu(?:di)?|vie(?:rnes)?|s[aá]b(?:ado)?"
    r"|dom(?:ingo)?|(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch|mo|di|mi|do|fr|sa|so"
    r"|today|yesterday|heute|gestern|hoy|ayer)\b\.?(?=,? )"
)
_PIECE = regex.compile(
    rf"(?P<date>{_DATE})|(?P<time>{_CLOCK})|(?P<day>{_DAY})|(?P<number>\+\d[\d ]{{6,16}}\d(?!\d))"
    r"|(?P<link>(?:at|um|klo|kl\.?|a las|à|T(?=\d)) ?)|(?P<mark>[\[\](){}<>,;|\t–—-]|:(?=\s|$)|[\s\u200e\u200f\u202f]+)",
    regex.IGNORECASE,
)
_NAME = regex.compile(r"(?P<name>[^:|;\t\[\]<>]{1,40}?)(?::(?:\s+|$)|\s*[|;\t]\s*)|<(?P<fenced>[^<>:]{1,40})>:?\s*")
_NAME_FIRST = regex.compile(
    r"(?:from:? )?[<\[]?(?P<name>[^:\[\]<>()|;\t]{1,40}?)[>\]]?\s*[,:|;\t]?\s+"
    rf"(?=[\[(<]?\s*(?:{_DAY}|{_DATE.replace('dot', 'dot2')}|{_CLOCK}))",
    regex.IGNORECASE,
)
_NAME_ALONE = regex.compile(r"(?P<name>\+\d[\d ]{6,16}\d|(?=[^:]*\p{Ll})[\p{L}\p{N} .'_-]{2,30}): +")
_SEALED = regex.compile(r"[\])>:|\t]\s*$")
"""What must end a name and a time in this order: else a box may just have said when."""
_SAID_BY_PHONE = regex.compile(r"\u200e.*|<[^<>]{3,40}>|\[[\p{L} ]{3,40}\]")
_FENCES = frozenset("[](){}<>|\t–—-")
_ENOUGH = 0.6
"""So many of the lines must have the front; of texts over several lines, fewer."""
_ENOUGH_LONG = 0.3
_ONE_NAME = 0.9
_MOST_ABOVE = 0.6
"""More lines than these can be no headings: the texts are below them."""
_SAME_NAME = 0.5
_MOST_NAMES = 6


@dataclass(frozen=True, slots=True)
class Front:
    """What stands in front of one line: `name` '' where there is none; `end`: where the text begins; `date`, `clock`: as written."""

    name: str
    dated: bool
    timed: bool
    fenced: bool
    end: int
    date: str = ""
    clock: str = ""

    @property
    def sure(self) -> bool:
        """Whether no box would begin its own text so."""
        return bool(self.name) and self.dated and self.timed and self.fenced


NO_FRONT = Front("", dated=False, timed=False, fenced=False, end=0)


@dataclass(frozen=True, slots=True)
class Chat:
    """The texts; what was left out, in words; `opening`: what a rule begins with where the front may belong to the texts.

    `fronts`: of each text what stood in front, where that was read at all.
    """

    texts: tuple[str, ...]
    opening: str = ""
    notes: tuple[str, ...] = ()
    fronts: tuple[Front, ...] = ()


def strip_chat(lines: Sequence[str]) -> Chat:
    """The texts of the sender who sent most; the lines themselves where they are no chat."""
    read = _strip(_join_headings(_below_their_times(_with_their_days(lines))))
    if not any(_day_alone(line) for line in lines):
        return read
    # days in lines of their own, and the times that go with them, are no part of any text
    if read.fronts:
        return replace(read, opening="")
    fronts = [read_front(line) for line in read.texts]
    ends = [_end_without_name(line, front) if front else 0 for line, front in zip(read.texts, fronts, strict=True)]
    texts = tuple(line[end:] for line, end in zip(read.texts, ends, strict=True))
    return Chat(texts, fronts=tuple(front or NO_FRONT for front in fronts))


def lines_of_texts(texts: Sequence[str], lines: Sequence[str]) -> tuple[int, ...]:
    """In which line of the file each text of a chat begins, counted from 1; the texts are in the file's order."""
    found: list[int] = []
    place = 0
    for text in texts:
        begins = (number for number in range(place, len(lines)) if _begins_in(text, lines[number].strip()))
        place = next(begins, max(place, 1) - 1) + 1
        found.append(place)
    return tuple(found)


def _begins_in(text: str, line: str) -> bool:
    """Whether the text ends this line, or what stands behind its front is how the text begins."""
    front = read_front(line)
    behind = line[front.end :].strip() if front is not None else line
    return bool(behind) and (line.endswith(text) or text.startswith(behind))


def _strip(lines: Sequence[str]) -> Chat:
    fronts = [read_front(line) for line in lines]
    with_front = [front for front in fronts if front is not None]
    if len(lines) > 1 and not with_front and len({_name_alone(line) for line in lines}) == 1 and _name_alone(lines[0]):
        return Chat(tuple(line[len(_name_alone(line)) :] for line in lines), opening="* ")
    if len(lines) < 2 or not with_front:
        return Chat(tuple(lines))
    named = Counter(front.name for front in with_front if front.name)
    sender, texts_of_sender = named.most_common(1)[0] if named else ("", 0)
    starts = fronts[0] is not None and len(with_front) >= _ENOUGH_LONG * len(lines)
    sure = all(front.sure for front in with_front if front.name == sender)
    chatted = (
        texts_of_sender > 1
        and texts_of_sender >= (_SAME_NAME if sure else _ONE_NAME) * sum(named.values())
        and len(named) <= _MOST_NAMES
    )
    if chatted and starts and texts_of_sender >= _SAME_NAME * len(with_front):
        chat = _chat_of_sender(lines, fronts, sender)
        if all(chat.texts):
            return chat
    if len(with_front) == len(lines):
        ends = [_end_without_name(line, front) for line, front in zip(lines, with_front, strict=True)]
        spaced = all(line[:end].endswith(" ") for line, end in zip(lines, ends, strict=True))
        texts = tuple(line[end:] for line, end in zip(lines, ends, strict=True))
        return Chat(texts, opening="* " if spaced else "*", fronts=tuple(with_front))
    return Chat(tuple(lines))


def _name_alone(line: str) -> str:
    """A name with a colon that stands in front without a time."""
    found = _NAME_ALONE.match(line)
    return found.group() if found else ""


def _with_their_days(lines: Sequence[str]) -> list[str]:
    """Days that stand in lines of their own come in front of each text of theirs: of each line with a time, where there are any."""
    days = [_day_alone(line) for line in lines]
    if not any(days):
        return list(lines)
    timed = any(front is not None and front.timed for front in map(read_front, lines))
    placed: list[str] = []
    day = ""
    for line, alone in zip(lines, days, strict=True):
        day = alone or day
        if not alone:
            front = read_front(line)
            begins = front is not None and front.timed and not front.date if timed else True
            placed.append(f"{day}, {line}" if day and begins and (front is None or not front.date) else line)
    return placed


def _day_alone(line: str) -> str:
    """The date, where the line is nothing else."""
    front = _read_when(line.strip(), 0)
    alone = front.date and not front.timed and front.end >= len(line.strip())
    return front.date if alone else ""


def _below_their_times(lines: Sequence[str]) -> list[str]:
    """Times that stand below their texts, each in a line of its own, come above them."""
    fronts = [read_front(line) for line in lines]
    alone = [
        front is not None and front.timed and front.end >= len(line.rstrip())
        for line, front in zip(lines, fronts, strict=True)
    ]
    if not lines or alone[0] or not alone[-1] or sum(alone) * 2 != len(lines):
        return list(lines)
    return [line for text, its_time in zip(lines[::2], lines[1::2], strict=True) for line in (its_time, text)]


def _join_headings(lines: Sequence[str]) -> list[str]:
    """A name, and a time, that stand above the text in lines of their own come in front of it."""
    often = Counter(lines)
    fronts = [read_front(line) for line in lines]
    above = [front for line, front in zip(lines, fronts, strict=True) if front and front.end >= len(line.rstrip())]
    if not above or len(above) > _MOST_ABOVE * len(lines) or len({front.name for front in above}) > _MOST_NAMES:
        return list(lines)
    joined: list[str] = []
    open_above = False
    for at, (line, front) in enumerate(zip(lines, fronts, strict=True)):
        nothing_more = front is not None and front.end >= len(line.rstrip())
        following = fronts[at + 1] if at + 1 < len(lines) else None
        a_name = front is None and often[line] > 1 and following is not None and following.end >= len(lines[at + 1])
        if open_above:
            joined[-1] += f"\t{line}"
        else:
            joined.append(line)
        open_above = nothing_more or a_name
    return joined


def strip_fronts(texts: Sequence[str]) -> tuple[list[str], bool]:
    """Of labelled texts: without the front, where most have one that is surely a chat's; and whether they had."""
    fronts = [read_front(text) for text in texts]
    sure = [front for front in fronts if front is not None and front.sure]
    names = Counter(front.name for front in sure)
    if len(sure) < max(2, _ENOUGH * len(texts)) or names.most_common(1)[0][1] < _ENOUGH * len(sure):
        return list(texts), False
    return [
        text[front.end :] if front is not None and front.sure and front.name in names else text
        for text, front in zip(texts, fronts, strict=True)
    ], True


def read_front(line: str) -> Front | None:
    """What stands in front of a line; None where neither a date nor a time stands in front."""
    read = _read_when(line, 0)
    if read.timed or read.dated:
        found = _NAME.match(line, read.end)
        if found and not _read_when(line, read.end).timed:
            name = found.group("name") or found.group("fenced")
            fenced = read.fenced or found.group("fenced") is not None
            return Front(name.strip(), read.dated, read.timed, fenced, found.end(), read.date, read.clock)
        return read
    first = _NAME_FIRST.match(line)
    if first is None:
        return None
    read = _read_when(line, first.end())
    sealed = line[first.start("name") - 1 : first.start("name")] == "<" or _SEALED.search(line[: read.end])
    name = first.group("name").strip()
    return Front(name, read.dated, read.timed, read.fenced, read.end, read.date, read.clock) if sealed else None


def _read_when(line: str, at: int) -> Front:
    """Everything from `at` on that is a time, a date, or stands between such."""
    pieces: dict[str, str] = {}
    fenced = False
    end = at
    while found := _PIECE.match(line, end):
        kind, piece = found.lastgroup or "", found.group()
        if (kind in pieces and kind in ("time", "date", "day")) or (kind == "mark" and _opens(piece, "time" in pieces)):
            break
        pieces[kind] = piece
        fenced = fenced or (kind == "mark" and piece in _FENCES)
        end = found.end()
    dated, timed = "date" in pieces or {"day", "time"} <= pieces.keys(), "time" in pieces
    date, clock = pieces.get("date", ""), pieces.get("time", "")
    return Front("", dated, timed, fenced, end if dated or timed else at, date, clock)


def _opens(mark: str, timed: bool) -> bool:
    """A bracket behind the time belongs to the text."""
    return timed and mark in "[({<"


def _end_without_name(line: str, front: Front) -> int:
    """Where the text begins when what looks like a name is a part of it."""
    when = _read_when(line, 0)
    return when.end if front.name and (when.timed or when.dated) else front.end


def _chat_of_sender(lines: Sequence[str], fronts: Sequence[Front | None], name: str) -> Chat:
    texts: list[str] = []
    of_texts: list[Front] = []
    left_out: Counter[str] = Counter()
    listening = False
    for line, front in zip(lines, fronts, strict=True):
        if front is None:
            if listening:
                texts[-1] = f"{texts[-1]} {line}".strip()
            continue
        said = line[front.end :].strip()
        listening = front.name == name and not _SAID_BY_PHONE.fullmatch(said)
        if listening:
            texts.append(said)
            of_texts.append(front)
        elif front.name and front.name != name:
            left_out[front.name] += 1
    mine = [front for front in fronts if front is not None and front.name == name]
    notes = [
        f"{many} of the texts came from '{other}', not from '{name}', and were left out"
        for other, many in left_out.items()
    ]
    opening = "" if all(front.sure for front in mine) else "* "
    return Chat(tuple(texts), opening=opening, notes=tuple(notes), fronts=tuple(of_texts))
