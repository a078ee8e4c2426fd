"""After which +CMS ERROR a text may have left all the same.

Source: 3GPP TS 24.011 annex E-2 (RP causes), TS 23.040 9.2.3.22 (TP-FCS) and clause 10 (what a switching centre answers for a
service centre), TS 27.005 3.2.5 (the modem's own), read 26 November 2026 in public copies; the verdicts where the standards give
none are reasoned from who says the code, and when.
"""

import pytest

from gateway.modem.error_codes import refusal

MAY_HAVE_LEFT = (38, 41, 81, 127, 255, 300, 313, 332, 500, 512, 531, 999)
EXCLUDES_IT = (
    *(1, 8, 10, 17, 21, 22, 27, 28, 29, 30, 42, 47, 50, 69, 95, 96, 97, 98, 99, 111),
    *(128, 129, 130, 131, 143, 144, 145, 159, 160, 161, 175, 176, *range(192, 197), 198, 199, *range(208, 214)),
    *(301, 302, 303, 304, 305, 310, 311, 312, 314, 315, 316, 317, 318, 320, 321, 322, 330, 331),
)


@pytest.mark.parametrize("code", [*MAY_HAVE_LEFT, None])
def test_what_excludes_nothing(code):
    """Said behind the text it leaves its fate open; said before it was handed over it does not."""
    family = "" if code is None else "cms"
    assert refusal(1, family, code).may_have_left
    assert not refusal(1, family, code, handed_over=False).may_have_left


@pytest.mark.parametrize("code", EXCLUDES_IT)
def test_what_excludes_it(code):
    """Refused before the service centre, by it, or within the modem."""
    assert not refusal(1, "cms", code).may_have_left
