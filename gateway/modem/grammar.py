"""The forms of what a modem says: for each command the fields of its answer, and of what it says unasked under the same name.

A line is a name and fields: `+CREG: 2,1,"00C3","0083F7CD",7`. Fields stand between commas, in quotes or bare, empty or left out, with
spaces or none; several in brackets are a list. The standards give each command its form, and makes take liberties with quotes, spaces,
leading zeros and trailing fields; so a form says of each field what it may be, and what tells one form from another is only what the
standards make different. A registration is the one name under which answer and news differ by a field alone: the answer to a question
begins with two figures, the news with one, and an area (four digits or more, mostly in quotes) behind it.

What fits no form here is noise or a maker's own: it is kept and counted (`unknown_lines.py`), and ends and begins nothing.
Source: 3GPP TS 27.007 7.2 (+CREG, +CGREG, +CEREG, +C5GREG), 8.3, 8.5, 27.005 3 and 4; ITU-T V.250 6.3.1. How long a command may take:
makers' manuals.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple


class Field(NamedTuple):
    """What stood between two commas: without its quotes and the spaces around it."""

    value: str
    quoted: bool


@dataclass(frozen=True, slots=True)
class Form:
    """What each field may be: `must` of those that are always there, `may` of those behind them; more are never minded."""

    must: tuple[re.Pattern[str], ...]
    may: tuple[re.Pattern[str], ...] = ()

    def fits(self, fields: Sequence[Field]) -> bool:
        """Whether fields are of this form."""
        kinds = (*self.must, *self.may)
        return len(fields) >= len(self.must) and all(
            kind.fullmatch(f'"{field.value}"' if field.quoted else field.value)
            for field, kind in zip(fields, kinds, strict=False)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Forms:
    """Of one name: how its answer and its news look (None: there is none), and how much longer than others it may take.

    `answer_ends`: seconds after which an answer that is there is taken for whole, though no OK followed: some makes leave it out.
    """

    answer: Form | None = None
    news: Form | None = None
    times: float = 1.0
    answer_ends: float | None = None


ANY = re.compile(r".*", re.DOTALL)
FIGURE = re.compile(r"\s*\d+\s*")
SHORT_FIGURE = re.compile(r"\d{1,3}")
"""A registration's <stat> has one or two digits, three with leading zeros; an area has four at the least."""
AREA = re.compile(r'".*"|[0-9A-Fa-f ]{4,}|[0-9A-Fa-f]+ [0-9A-Fa-f ]+|')
QUOTED = re.compile(r'"[^"]*"')
WORDS = re.compile(r'"?[A-Za-z][A-Za-z0-9 -]*"?')

_REGISTRATION = Forms(answer=Form((SHORT_FIGURE, SHORT_FIGURE)), news=Form((SHORT_FIGURE,), (AREA, AREA)), times=2)
FORMS: Mapping[str, Forms] = {
    "+CREG": _REGISTRATION,
    "+CGREG": _REGISTRATION,
    "+CEREG": _REGISTRATION,
    "+C5GREG": _REGISTRATION,
    "+CSQ": Forms(answer=Form((FIGURE,)), news=Form((FIGURE,)), times=2),
    "+COPS": Forms(answer=Form((ANY,)), news=Form((ANY,)), times=12),
    "+CPIN": Forms(answer=Form((WORDS,)), news=Form((WORDS,)), times=4, answer_ends=2.0),
    "+CMGF": Forms(answer=Form((ANY,)), times=2),
    "+CMEE": Forms(answer=Form((ANY,))),
    "+CSMS": Forms(answer=Form((ANY,)), times=2),
    "+CSCA": Forms(answer=Form((ANY,)), times=2),
    "+CNMI": Forms(answer=Form((ANY,)), times=2),
    "+CNMA": Forms(answer=Form((ANY,))),
    "+CPMS": Forms(answer=Form((ANY,)), times=6),
    "+CMGL": Forms(answer=Form((ANY,))),
    "+CMGR": Forms(answer=Form((ANY,)), times=4),
    "+CMGD": Forms(answer=Form((ANY,)), times=2.5),
    "+CMGS": Forms(answer=Form((FIGURE,)), answer_ends=5.0),
    "+CUSD": Forms(answer=Form((FIGURE,)), news=Form((FIGURE,))),
    "+CGMM": Forms(answer=Form((ANY,))),
    "+CNUM": Forms(answer=Form((ANY, ANY)), times=2),
    "+CMTI": Forms(news=Form((ANY,))),
    "+CDSI": Forms(news=Form((ANY,))),
    "+CMT": Forms(news=Form((ANY,))),
    "+CDS": Forms(news=Form((ANY,))),
    "+CBM": Forms(news=Form((ANY,))),
    "+CBMI": Forms(news=Form((ANY,))),
}
"""What the gateway asks and what it hears unasked; `times` is of an ordinary command's five seconds (at +COPS a minute, at +CPMS half of one:
a memory was met that needs seven seconds to be chosen)."""

OWN_NEWS = frozenset(
    {
        *(
            "^RSSI",
            "^BOOT",
            "^MODE",
            "^DSFLOWRPT",
            "^HCSQ",
            "^SRVST",
            "^SIMST",
            "^NWTIME",
            "^CEND",
            "^STIN",
            "^NDISSTAT",
            "^LWURC",
        ),
        *(
            "^SYSSTART",
            "^CONN",
            "^ORIG",
            "^CONF",
            "^THERM",
            "^EONS",
            "^XLEMA",
            "^MSTK",
            "^SMMEMFULL",
            "^SHUTDOWN",
            "^EXIT",
        ),
        *(
            "+CIEV",
            "+CRING",
            "+CLIP",
            "+CCWA",
            "+CSSU",
            "+CSSI",
            "+CTZV",
            "+CTZE",
            "+CTZEU",
            "+CTZDST",
            "+CTZR",
            "+NITZ",
            "+CGEV",
            "+XCIEV",
        ),
        *(
            "+CNSMOD",
            "+QIND",
            "+QUSIM",
            "+QLWURC",
            "+QNITZ",
            "+QSIMSTAT",
            "+QIURC",
            "+CPSI",
            "+CFUN",
            "+CCIOTOPTI",
            "+CMS",
            "+CME",
        ),
        *(
            "+ZUSIMR",
            "+ZDONR",
            "+ZPASR",
            "+ZEND",
            "+CUSATP",
            "+CUSATEND",
            "+PACSP0",
            "+PACSP1",
            "+PBREADY",
            "+WIND",
            "+SIM",
            "+STIN",
        ),
        *(
            "+UUPSDD",
            "+UUSTS",
            "+UMWI",
            "+CIREGU",
            "+CIREPI",
            "+CRTDCP",
            "+CPBS",
            "+CSIM",
            "+SPN",
            "+CUSTOM",
            "+RXDTMF",
            "+AT",
        ),
        *(
            "#PSNT",
            "#QSS",
            "#STN",
            "#MWI",
            "#CIEV",
            "%NWSTATE",
            "%STKY",
            "%CTZV",
            "%NOTIFY",
            "_OSIGQ",
            "_OWANCALL",
            "_OSSYSI",
            "_OUWCTI",
        ),
        *("*PSUTTZ", "*ERINFO", "*EMWI", "*EPEV", "*EMRDY", "*ESTKSMENU", "*EACE", "*PSNWID", "*COPN"),
        *("$QCSIMSTAT", "$QCRMI", "DST", "VOICE CALL", "MISSED_CALL"),
    }
)
"""Makers' own news that were met, or stand in their manuals (from memory); what they tell is not needed."""
OF_A_CALL = r"RING\b|CONNECT\b|NO CARRIER$|BUSY$|NO ANSWER$|NO DIAL ?TONE$"
"""Results of dialling and answering (V.250 6.3.1). Nothing here dials, so they tell of a call that somebody else made: taken for
results, they sent messages twice and told a household that there was no SIM."""
OWN_WORDS = re.compile(
    rf"^({OF_A_CALL}|RDY|Call Ready|SMS Ready|SMS DONE|PB DONE|NORMAL POWER DOWN|UNDER-VOLTAGE|OVER-VOLTAGE|POWERED DOWN|APP RDY|READY"
    r"|SIM READY|START)(?!\w)",
    re.IGNORECASE,
)

_NAMED = re.compile(r"^([+^*#%$_]?[A-Z][A-Z0-9_ ]*?)\s*(?::(.*)|$)", re.DOTALL)


def name_and_fields(line: str) -> tuple[str, list[Field]]:
    """`+CREG: 2,1` → ("+CREG", its fields); ("", []) for what has no name."""
    named = _NAMED.match(line)
    if named is None:
        return "", []
    return named[1], fields_in(named[2] or "")


def fields_in(text: str) -> list[Field]:
    """What stands between the commas that are in no quotes; nothing at all for an empty text."""
    if not text.strip():
        return []
    pieces, piece, inside = [], "", False
    for char in text:
        if char == '"':
            inside = not inside
        if char == "," and not inside:
            pieces.append(piece)
            piece = ""
        else:
            piece += char
    return [_field(piece.strip()) for piece in (*pieces, piece)]


def _field(piece: str) -> Field:
    quoted = len(piece) > 1 and piece[0] == piece[-1] == '"'
    return Field(piece[1:-1] if quoted else piece, quoted)


def is_answer(name: str, line: str) -> bool:
    """Whether a line begins an answer to the command of that name, and is not the news that bears the same."""
    of_line, fields = name_and_fields(line)
    if not name or of_line != name:
        return False
    forms = FORMS.get(name)
    if forms is None or forms.answer is None:
        return True
    return forms.answer.fits(fields) or forms.news is None or not forms.news.fits(fields)


def is_known_news(line: str) -> bool:
    """Whether it is news of a known form: the standards' own, or a maker's that was met before."""
    if OWN_WORDS.match(line):
        return True
    name, fields = name_and_fields(line)
    forms = FORMS.get(name)
    if forms is not None:
        return forms.news is not None and forms.news.fits(fields)
    return name in OWN_NEWS or name.partition(" ")[0] in OWN_NEWS


def figures(fields: Sequence[Field]) -> list[int]:
    """The figures among fields, in order."""
    return [int(field.value) for field in fields if not field.quoted and field.value.isdecimal()]


def limit_s(command: str, ordinary_s: float) -> float:
    """How long a command may take where an ordinary one may take so long."""
    named = re.match(r"AT([+^*#%$_][A-Z0-9]+)", command)
    forms = FORMS.get(named[1]) if named else None
    return ordinary_s * (forms.times if forms is not None else 1.0)


def lists_in(text: str) -> list[list[str]]:
    """What a test command offers: `("ME","MT"),"ME",(0-3)` → [[ME, MT], [ME], [0, 1, 2, 3]]; brackets around the whole are passed over."""
    whole = text.strip()
    if whole.startswith("((") and whole.endswith("))"):
        whole = whole[1:-1]
    lists: list[list[str]] = []
    for inside, alone in re.findall(r'\(([^()]*)\)|("[^"]*"|[0-9-]+)', whole):
        lists.append(_spread(alone if alone else inside))
    return lists


def _spread(offered: str) -> list[str]:
    values: list[str] = []
    for piece in (piece.strip().strip('"').strip() for piece in offered.split(",")):
        span = re.fullmatch(r"(\d{1,3})\s*-\s*(\d{1,3})", piece)
        if span is not None:
            values += [str(number) for number in range(int(span[1]), int(span[2]) + 1)]
        elif piece:
            values.append(piece)
    return values
