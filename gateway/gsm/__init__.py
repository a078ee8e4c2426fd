"""Text ↔ septets: the GSM 7-bit default alphabet, segment sizes, transliteration into it, and keys of PDUs.

Pure ground: every room may use it. Source: 3GPP TS 23.038 (alphabet) and TS 23.040 (segments).
"""
