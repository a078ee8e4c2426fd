"""A phone number as a person wrote it → E.164. The one door to `phonenumbers`.

In: national (`country` says how to read it) or international notation. Out: `+digits`; short codes and alphanumeric
senders stay as they came (stripped). Source: ITU-T E.164 (at most 15 digits) through the `phonenumbers` metadata.
"""

import re
from functools import lru_cache

import phonenumbers

_NUMBER_LIKE = re.compile(r"^[+(]?[\d\s()./-]+$")
SHORT_CODE_DIGITS = 6
E164_DIGITS = 15
_KIND_OF_TYPE = {
    "MOBILE": "mobile",
    "FIXED_LINE": "landline",
    "FIXED_LINE_OR_MOBILE": "either",
    "PREMIUM_RATE": "premium",
    "SHARED_COST": "premium",
}
_FICTION = re.compile(
    r"\+61(?:491570(?:006|156|157|158|159|110|313|737)|491571(?:266|491|804)|491572(?:549|665|983)|491573(?:770|087)"
    r"|491574(?:118|632)|491575(?:254|789)|491576(?:398|801)|491577(?:426|644)|491578(?:957|148|888)"
    r"|491579(?:212|760|455)|[2378](?:5550|7010)\d{4})"
    r"|\+44(?:7700900\d{3}|1632960\d{3}|2079460\d{3})|\+1\d{3}55501\d{2}"
)


def as_name(name: str) -> str:
    """A sender that the network gave as a name (type of number 5) → as it is kept: in quotes where it could be read as a number.

    Anybody can buy a name made of digits. Unmarked it took an alarm in a contact's name, and turned a low tank ok.
    """
    return f'"{name}"' if name and not _has_letters(name) else name


def as_it_came(sender: str) -> str:
    """A kept sender → as the network had it: a name without its quotes."""
    return sender[1:-1] if is_name(sender) else sender


def is_name(sender: str) -> bool:
    """Whether a kept sender is a name that could be read as a number."""
    return len(sender) > 1 and sender[0] == sender[-1] == '"' and not _has_letters(sender)


def _has_letters(name: str) -> bool:
    return any(char.isalpha() for char in name)


@lru_cache(maxsize=4096)
def normalise_number(number: str, country: str) -> str:
    """A number as somebody wrote it → E.164 where it can be one, else as it came."""
    return to_e164(number, country) or number.strip()


def to_e164(number: str, country: str) -> str | None:
    """A number as somebody wrote it → E.164; None where it cannot be a full phone number (a short code, a name)."""
    bare = number.strip()
    digits = re.sub(r"\D", "", bare)
    if not _NUMBER_LIKE.match(bare) or (not bare.startswith("+") and len(digits) <= SHORT_CODE_DIGITS):
        return None
    try:
        parsed = phonenumbers.parse(bare, country)
    except phonenumbers.NumberParseException:
        return None
    # "possible" asks for the length alone: numbers that were given out after the metadata was made must pass
    kinds = (phonenumbers.PhoneNumberType.MOBILE, phonenumbers.PhoneNumberType.FIXED_LINE)
    # neither length: written with + it may still be one of a satellite or of a machine, and is taken as it stands
    if not any(phonenumbers.is_possible_number_for_type(parsed, kind) for kind in kinds):
        return f"+{digits}" if bare.startswith("+") and 7 < len(digits) <= E164_DIGITS else None
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)


def to_national(number: str, country: str) -> str:
    """E.164 → as people of that country write it; anything else unchanged."""
    if is_name(number):
        return number
    try:
        parsed = phonenumbers.parse(number, country)
    except phonenumbers.NumberParseException:
        return number
    own = phonenumbers.country_code_for_region(country) == parsed.country_code
    style = phonenumbers.PhoneNumberFormat.NATIONAL if own else phonenumbers.PhoneNumberFormat.INTERNATIONAL
    return phonenumbers.format_number(parsed, style)


def is_network_code(code: str) -> bool:
    """Whether it can be dialled as a code that the network itself answers ("*100#")."""
    return re.fullmatch(r"[0-9*#+]{1,30}", code) is not None


def is_country(code: str) -> bool:
    """Whether it is an ISO 3166 country code whose phone numbers are known."""
    return code in phonenumbers.SUPPORTED_REGIONS


def is_emergency(number: str, country: str) -> bool:
    """Whether dialling it would reach an emergency service."""
    return is_country(country) and phonenumbers.connects_to_emergency_number(number, country)


def is_reserved_for_fiction(number: str) -> bool:
    """Whether the regulator keeps this E.164 number for books and films; nobody can be reached there.

    Source, from memory: ACMA (Australia), Ofcom (United Kingdom) and NANPA (555-0100 to 555-0199) publish such lists.
    """
    return _FICTION.fullmatch(number) is not None


def line_kind(number: str) -> str:
    """What an E.164 number is: "mobile", "landline", "either", "premium", "other" or "none" (no such number is given out)."""
    try:
        parsed = phonenumbers.parse(number, None)
    except phonenumbers.NumberParseException:
        return "other"
    if not phonenumbers.is_valid_number(parsed):
        return "none"
    return _KIND_OF_TYPE.get(phonenumbers.PhoneNumberType.to_string(phonenumbers.number_type(parsed)), "other")
