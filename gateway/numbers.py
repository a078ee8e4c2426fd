"""A phone number as a person wrote it → E.164. The one door to `phonenumbers`.

In: national (`country` says how to read it) or international notation. Out: `+digits`; short codes and alphanumeric
senders stay as they came (stripped). Source: ITU-T E.164 (at most 15 digits) through the `phonenumbers` metadata.
"""

import re
from functools import lru_cache

_NUMBER_LIKE = re.compile(r"^[+(]?[\d\s()./-]+$")
SHORT_CODE_DIGITS = 6
E164_DIGITS = 15


@lru_cache(maxsize=4096)
def normal(number: str, country: str) -> str:
    """E.164 where it can be one, else as it came."""
    return e164(number, country) or number.strip()


def e164(number: str, country: str) -> str | None:
    """E.164, or None where it cannot be a full phone number (a short code, a name)."""
    import phonenumbers

    bare = number.strip()
    digits = re.sub(r"\D", "", bare)
    if not _NUMBER_LIKE.match(bare) or (not bare.startswith("+") and len(digits) <= SHORT_CODE_DIGITS):
        return None
    try:
        parsed = phonenumbers.parse(bare, country)
    except phonenumbers.NumberParseException:
        return None
    kinds = (phonenumbers.PhoneNumberType.MOBILE, phonenumbers.PhoneNumberType.FIXED_LINE)
    if not any(phonenumbers.is_possible_number_for_type(parsed, kind) for kind in kinds):
        return f"+{digits}" if bare.startswith("+") and 7 < len(digits) <= E164_DIGITS else None
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)


def national(number: str, country: str) -> str:
    """E.164 → as people of that country write it; anything else unchanged."""
    import phonenumbers

    try:
        parsed = phonenumbers.parse(number, country)
    except phonenumbers.NumberParseException:
        return number
    own = phonenumbers.country_code_for_region(country) == parsed.country_code
    style = phonenumbers.PhoneNumberFormat.NATIONAL if own else phonenumbers.PhoneNumberFormat.INTERNATIONAL
    return phonenumbers.format_number(parsed, style)
